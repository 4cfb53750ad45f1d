/* armsquare linkage solve: a whole linkage from a description or from options. */
#include "arithmetic/number.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/input_file.h"
#include "base/message.h"
#include "base/option_value.h"
#include "base/safe_file.h"
#include "cmd_linkage.h"
#include "cmd_linkage_common.h"
#include "linkage/linkage_drawing.h"
#include "linkage/linkage_export.h"
#include "linkage/linkage_file.h"
#include "linkage/linkage_words.h"

#include <errno.h>
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

#define LARGEST_FILE 65536 /* a description is a page of text */

static const char help[] =
    "usage: armsquare linkage solve FILE [-o DRAWING] [--csv FILE] [--json]\n"
    "       armsquare linkage solve --horn L --along L --arm L [more] ...\n"
    "\n"
    "A linkage as a mechanism: how far each part moves, how unequally, where it would bind, how\n"
    "long each link must be and how many turns bring it there, and what errors cost at the end.\n"
    "FILE describes it, a thing a line; - reads standard input.\n"
    "\n"
    "  name TEXT            what the linkage is called\n"
    "  travel 40 deg        of the servo, each way; or: travel -35 deg to 42 deg\n"
    "  crank NAME           starts a part: a horn that turns a crank through a link\n"
    "  slider NAME          or: a horn that moves a slider through a link\n"
    "  yoke NAME            or: a horn whose pin sits in the slider's slot\n"
    "  pitch arm NAME       or: an arm swung by the slider before it\n"
    "and for each part, as far as it has them\n"
    "  horn 12 mm           driving arm, axis to ball (later parts: second arm of the crank "
    "before)\n"
    "  horn angle 90 deg    at neutral, from the part's reference line, counter-clockwise; of a\n"
    "                       later part as measured, the crank before it as it stands now;\n"
    "                       without it the arm is square where that crank stands as wanted\n"
    "  along 58 mm          crank axis from the horn's axis, along the reference line;\n"
    "                       slider: where its pin is wanted\n"
    "  across 3 mm          the same, square to the reference line\n"
    "  arm 15 mm            driven arm, axis to ball\n"
    "  arm angle 90 deg     where it is wanted at neutral\n"
    "  link 58.2 mm         ball centre to ball centre; without it the fitting length is worked "
    "out\n"
    "  measured 91.3 deg    or: where the driven part really stands (mm for a slider)\n"
    "  thread M2            of the link end: M2, M3 fine, M3x0.35, 0.45 mm, 56 tpi\n"
    "  far thread M2.5      of the other end, when it may be turned as well\n"
    "  fits every half turn or whole turn, 1/6 turn, any\n"
    "  turnbuckle yes       left and right hand: a turn moves twice the pitch\n"
    "  seen from behind yes this part is looked at from the other side than the one before\n"
    "Behind a number, but that of travel: u 0.1 (standard uncertainty), U 0.2 (for 95 %), or\n"
    "+- 0.1 (limits).\n"
    "\n"
    "  -o, --output FILE    drawing and curves; .svg, .pdf or .png\n"
    "      --tolerance D    degrees that do not matter (0.5)\n"
    "      --csv FILE       the curves as a table (.csv)\n"
    "      --step N         degrees of servo between its lines, 0.01 to 45 (1)\n"
    "      --json           results as JSON\n"
    "      --dpi N          of a PNG drawing (200)\n"
    "      --help           this text\n"
    "The words horn, horn-angle, along, across, arm, arm-angle, link, measured, thread, "
    "far-thread,\n"
    "fits-every, turnbuckle, travel and name are options too, for a single crank without a file.\n"
    "\n"
    "example:\n"
    "  armsquare linkage solve --horn 12 --along 58 --arm 15 --link \"58.2 u 0.1\" --thread M2 \\\n"
    "      -o tail.svg\n";

struct solve_words {
    const char *output, *csv;
    double step_deg, dpi;
    bool json, help;
    struct linkage linkage;
};

enum { OPT_CSV = 256, OPT_TOLERANCE, OPT_STEP, OPT_JSON, OPT_DPI, OPT_HELP, OPT_LINE };

static const struct option options[] = {
    {"output", required_argument, NULL, 'o'},
    {"csv", required_argument, NULL, OPT_CSV},
    {"tolerance", required_argument, NULL, OPT_TOLERANCE},
    {"step", required_argument, NULL, OPT_STEP},
    {"json", no_argument, NULL, OPT_JSON},
    {"dpi", required_argument, NULL, OPT_DPI},
    {"help", no_argument, NULL, OPT_HELP},
    {"name", required_argument, NULL, OPT_LINE},
    {"travel", required_argument, NULL, OPT_LINE},
    {"horn", required_argument, NULL, OPT_LINE},
    {"horn-angle", required_argument, NULL, OPT_LINE},
    {"along", required_argument, NULL, OPT_LINE},
    {"across", required_argument, NULL, OPT_LINE},
    {"arm", required_argument, NULL, OPT_LINE},
    {"arm-angle", required_argument, NULL, OPT_LINE},
    {"link", required_argument, NULL, OPT_LINE},
    {"measured", required_argument, NULL, OPT_LINE},
    {"thread", required_argument, NULL, OPT_LINE},
    {"far-thread", required_argument, NULL, OPT_LINE},
    {"fits-every", required_argument, NULL, OPT_LINE},
    {"turnbuckle", no_argument, NULL, OPT_LINE},
    {NULL, 0, NULL, 0},
};

/* An option is a line of a description: "--horn-angle 88" is "horn angle 88". */
static int take_option_line(struct solve_words *words, const char *name, const char *value)
{
    char line[256], problem[LINKAGE_PROBLEM_SIZE];
    bool of_whole = strcmp(name, "name") == 0 || strcmp(name, "travel") == 0;
    if (!of_whole && words->linkage.stage_count == 0)
        linkage_take_line(&words->linkage, "crank crank", problem, sizeof problem);
    int length = snprintf(line, sizeof line, "%s %s", name, value ? value : "yes");
    if (length < 0 || (size_t)length >= sizeof line)
        return fail_usage("--%s: its value is too long.", name);
    for (char *at = line; at < line + strlen(name); at++)
        if (*at == '-')
            *at = ' ';
    if (!linkage_take_line(&words->linkage, line, problem, sizeof problem))
        return fail_usage("--%s: %s", name, problem);
    return EXIT_DONE;
}

static int take_option(int option, int index, char **argv, struct solve_words *words)
{
    switch (option) {
    case 'o':
        words->output = optarg;
        return check_drawing(optarg);
    case OPT_CSV:
        words->csv = optarg;
        return option_output("--csv FILE", optarg, ".csv");
    case OPT_TOLERANCE:
        return option_number("tolerance", optarg, 0, 45, &words->linkage.tolerance_deg);
    case OPT_STEP:
        return number_parse(optarg, &words->step_deg) && words->step_deg >= 0.01 &&
                       words->step_deg <= 45
                   ? EXIT_DONE
                   : fail_usage("--step must be a number of degrees from 0.01 to 45, not \"%s\".",
                                optarg);
    case OPT_DPI:
        return number_parse(optarg, &words->dpi) && words->dpi >= 50 && words->dpi <= 1200
                   ? EXIT_DONE
                   : fail_usage("--dpi must be a number from 50 to 1200, not \"%s\".", optarg);
    case OPT_JSON:
        words->json = true;
        return EXIT_DONE;
    case OPT_HELP:
    case 'h':
        words->help = true;
        return EXIT_DONE;
    case OPT_LINE:
        return take_option_line(words, options[index].name, optarg);
    default:
        return usage_unknown_option("linkage solve", option, argv);
    }
}

static int read_description(const char *path, struct linkage *linkage)
{
    bool standard = strcmp(path, "-") == 0;
    FILE *from = standard ? stdin : input_file_open(path);
    if (!from)
        return fail_unusable("\"%s\" cannot be read: %s.", path, input_file_says(errno));
    char *text = malloc(LARGEST_FILE + 1);
    size_t length = text ? fread(text, 1, LARGEST_FILE + 1, from) : 0;
    bool broken = ferror(from) != 0;
    int reason = errno;
    if (!standard)
        fclose(from);
    int status = EXIT_DONE;
    char problem[LINKAGE_PROBLEM_SIZE];
    if (!text)
        status = fail_trouble("there is not enough memory to read \"%s\".", path);
    else if (broken)
        status = fail_unusable("\"%s\" cannot be read: %s.", path, input_file_says(reason));
    else if (length > LARGEST_FILE || memchr(text, '\0', length))
        status = fail_unusable("\"%s\" is not a description of a linkage but something else; "
                               "\"armsquare linkage solve --help\" shows what one looks like.",
                               path);
    else {
        text[length] = '\0';
        if (!linkage_take_text(linkage, text, problem, sizeof problem))
            status = fail_unusable("\"%s\", %s", path, problem);
    }
    free(text);
    return status;
}

static int parse(int argc, char **argv, struct solve_words *words)
{
    bool seen[sizeof options / sizeof *options] = {false};
    int option, index = 0;
    optind = 1;
    opterr = 0;
    while ((option = getopt_long(argc, argv, ":o:h", options, &index)) != -1) {
        int status = option_taken(options, option, &index, seen);
        if (status == EXIT_DONE)
            status = take_option(option, index, argv, words);
        if (status != EXIT_DONE || words->help)
            return status;
    }
    if (argc - optind > 1)
        return fail_usage("\"%s\" is one file too many; describe the whole linkage in one.",
                          argv[optind + 1]);
    if (argc == optind)
        return words->linkage.stage_count > 0
                   ? EXIT_DONE
                   : fail_usage("say which linkage: a file that describes it, or --horn, --along "
                                "and --arm; \"armsquare linkage solve --help\" shows both.");
    if (words->linkage.stage_count > 0)
        return fail_usage("give either a file or options such as --horn, not both.");
    return read_description(argv[optind], &words->linkage);
}

static int write_csv(const struct solve_words *words, const struct linkage_result *result)
{
    struct safe_file file;
    if (!safe_file_open(&file, words->csv))
        return fail_unwritten(words->csv, errno, "--csv FILE");
    linkage_print_csv(&words->linkage, &result->ready, words->step_deg, file.stream);
    if (!safe_file_commit(&file))
        return fail_unwritten(words->csv, errno, "--csv FILE");
    return EXIT_DONE;
}

static int write_answer(const struct solve_words *words, const struct linkage_result *result)
{
    if (!words->json) {
        linkage_print(&words->linkage, result, stdout);
        return EXIT_DONE;
    }
    return answer_json(linkage_to_json(&words->linkage, result));
}

static int write_all(const struct solve_words *words, const struct linkage_result *result)
{
    int status = EXIT_DONE;
    if (words->output) {
        struct linkage_sheet sheet = {&words->linkage, result, false};
        struct drawing drawing = linkage_drawing(&sheet);
        status = write_drawing(words->output, &drawing, words->dpi);
    }
    if (status == EXIT_DONE && words->csv)
        status = write_csv(words, result);
    return status == EXIT_DONE ? write_answer(words, result) : status;
}

int cmd_linkage_solve(int argc, char **argv)
{
    struct solve_words words = {.step_deg = 1, .dpi = DRAWING_DPI, .linkage = linkage_empty()};
    int status = parse(argc, argv, &words);
    if (status != EXIT_DONE)
        return status;
    if (words.help)
        return answer_print_help(help);
    struct linkage_result *result = malloc(sizeof *result);
    struct linkage_fault fault;
    if (!result)
        return fail_trouble("there is not enough memory for the answer.");
    if (linkage_analyse(&words.linkage, result, &fault) != LINKAGE_OK) {
        char text[LINKAGE_PROBLEM_SIZE];
        linkage_say_fault(&words.linkage, &fault, text, sizeof text);
        status = fail_unusable("%s", text);
    } else {
        status = write_all(&words, result);
    }
    free(result);
    return status;
}
