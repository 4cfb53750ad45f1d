/* The program's commands. Each takes the words after "armsquare" (argv[0] is the command's own
 * name, so getopt_long works as it is) and returns its exit status (base/exit_status.h). */
#ifndef COMMANDS_H
#define COMMANDS_H

int cmd_advise(int argc, char **argv);
int cmd_card(int argc, char **argv);
int cmd_job(int argc, char **argv);
int cmd_lens(int argc, char **argv);
int cmd_measure(int argc, char **argv);
int cmd_read(int argc, char **argv);
int cmd_linkage(int argc, char **argv);
int cmd_trim_scale(int argc, char **argv);

#endif
