/* The modes of "armsquare linkage", one function each. argv[0] is the mode's own word; the exit
 * status comes back. */
#ifndef CMD_LINKAGE_H
#define CMD_LINKAGE_H

int cmd_linkage_solve(int argc, char **argv);
int cmd_linkage_turns(int argc, char **argv);
int cmd_linkage_pair(int argc, char **argv);
int cmd_linkage_centre(int argc, char **argv);
int cmd_linkage_parallel(int argc, char **argv);
int cmd_linkage_level(int argc, char **argv);
int cmd_linkage_angle(int argc, char **argv);
int cmd_linkage_travel(int argc, char **argv);

#endif
