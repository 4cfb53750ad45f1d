/* armsquare linkage: picks the mode. */
#include "cmd_linkage.h"
#include "commands.h"

#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"

#include <stdio.h>
#include <string.h>

static const struct mode {
    const char *name;
    const char *does;
    int (*run)(int argc, char **argv);
} modes[] = {
    {"solve", "a whole linkage from its lengths: throws, binding, turns, drawing",
     cmd_linkage_solve},
    {"turns", "an arm that is off: how many turns of its link", cmd_linkage_turns},
    {"pair", "two links side by side: equally long? which to turn?", cmd_linkage_pair},
    {"centre", "both ends and neutral: is neutral in the middle? end points", cmd_linkage_centre},
    {"parallel", "two arms that must be parallel", cmd_linkage_parallel},
    {"level", "an edge that must be level with the reference", cmd_linkage_level},
    {"angle", "an arm at wanted angles other than square", cmd_linkage_angle},
    {"travel", "sub-trim and end points in the radio's whole steps", cmd_linkage_travel},
};

static void print_help(FILE *to)
{
    fputs("usage: armsquare linkage MODE ...\n\n", to);
    for (size_t i = 0; i < sizeof modes / sizeof *modes; i++)
        fprintf(to, "  %-10s %s\n", modes[i].name, modes[i].does);
    fputs("\n\"armsquare linkage MODE --help\" explains one of them.\n"
          "Blades off, or the drive made unable to turn, before power is applied.\n\n"
          "example:\n"
          "  armsquare linkage solve --horn 12 --along 58 --arm 15 --thread M2 -o tail.svg\n",
          to);
}

int cmd_linkage(int argc, char **argv)
{
    int status = answer_overview(argc, argv, print_help);
    if (status >= 0)
        return status;
    for (size_t i = 0; i < sizeof modes / sizeof *modes; i++)
        if (strcmp(argv[1], modes[i].name) == 0)
            return modes[i].run(argc - 1, argv + 1);
    return fail_usage("linkage has no mode \"%s\"; \"armsquare linkage --help\" lists them.",
                      argv[1]);
}
