/* The program's commands. Each takes the words after "armsquare" (argv[0] is the command's own
 * name, so getopt_long works as it is) and returns the exit status. */
#ifndef COMMANDS_H
#define COMMANDS_H

enum exit_status {
    EXIT_DONE = 0,
    EXIT_TROUBLE = 1,  /* anything else: a full disk, no memory */
    EXIT_USAGE = 2,    /* wrong words on the command line */
    EXIT_UNUSABLE = 3, /* input that cannot be used or measured */
};

int cmd_advise(int argc, char **argv);
int cmd_card(int argc, char **argv);
int cmd_job(int argc, char **argv);
int cmd_lens(int argc, char **argv);
int cmd_measure(int argc, char **argv);
int cmd_read(int argc, char **argv);
int cmd_linkage(int argc, char **argv);
int cmd_trim_scale(int argc, char **argv);

#endif
