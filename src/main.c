/* armsquare: picks the command and passes the rest of the words on. */
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/file_mode.h"
#include "base/message.h"
#include "base/utc_clock.h"
#include "commands/commands.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>

struct command {
    const char *name;
    const char *does;
    int (*run)(int argc, char **argv);
};

static const struct command commands[] = {
    {"card", "writes the printable sheet of cards", cmd_card},
    {"measure", "tells from photos how far arms are from square", cmd_measure},
    {"advise", "says which arm on which tooth, and what sub-trim", cmd_advise},
    {"trim-scale", "learns degrees per percent of sub-trim", cmd_trim_scale},
    {"linkage", "the linkage as a mechanism: throws, binding, link turns, stations", cmd_linkage},
    {"lens", "learns a camera's lens from photos of the card", cmd_lens},
    {"job", "keeps a model's whole set-up: stations in order, findings, report", cmd_job},
    {"read", "reads the measurement back from an annotated picture", cmd_read},
    {NULL, NULL, NULL},
};

static void print_help(FILE *to)
{
    fputs("armsquare - square servo horns and cranks from a photo of a printed card\n\n"
          "usage: armsquare COMMAND [OPTIONS]\n\n",
          to);
    for (const struct command *c = commands; c->name; c++)
        fprintf(to, "  %-12s %s\n", c->name, c->does);
    fputs("\n\"armsquare COMMAND --help\" explains one command, with an example.\n", to);
}

int main(int argc, char **argv)
{
    /* A write beyond a limit on the size of files then fails and is told, as on a full disk. */
    signal(SIGXFSZ, SIG_IGN);
    file_mode_note_umask();
    int status = answer_overview(argc, argv, print_help);
    if (status >= 0)
        return answer_end(status);
    if (strcmp(argv[1], "--version") == 0) {
        puts("armsquare " ARMSQUARE_VERSION);
        return answer_end(EXIT_DONE);
    }
    if ((status = utc_check_epoch()) != EXIT_DONE)
        return status;
    for (const struct command *c = commands; c->name; c++)
        if (strcmp(argv[1], c->name) == 0)
            return answer_end(c->run(argc - 1, argv + 1));
    return fail_usage("there is no command \"%s\"; \"armsquare --help\" lists them all.", argv[1]);
}
