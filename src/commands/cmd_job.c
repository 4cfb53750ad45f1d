/* armsquare job: the model's job file. Picks the part of the work and reads the command line. */
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "base/paragraph.h"
#include "commands.h"
#include "job/job_finding.h"
#include "job_command.h"
#include "linkage/link_pair.h"

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    MODEL = 256,
    PLAN,
    WHO,
    NOTE,
    USE,
    SHOW,
    ANGLE,
    ENDS,
    NEUTRAL,
    LENGTHS,
    U,
    FAILS,
    SINCE,
    ARMS,
    FIRST_LINK,
    SECOND_LINK,
    HEIGHT,
    DISTANCE,
    STICKER,
    INVENTED,
    JSON,
    LIST,
    ALL,
    OUTPUT,
    HELP
};

static const struct option options[] = {
    {"model", required_argument, NULL, MODEL},
    {"plan", required_argument, NULL, PLAN},
    {"who", required_argument, NULL, WHO},
    {"note", required_argument, NULL, NOTE},
    {"use", required_argument, NULL, USE},
    {"show", required_argument, NULL, SHOW},
    {"angle", required_argument, NULL, ANGLE},
    {"ends", required_argument, NULL, ENDS},
    {"neutral", required_argument, NULL, NEUTRAL},
    {"lengths", required_argument, NULL, LENGTHS},
    {"u", required_argument, NULL, U},
    {"fails", required_argument, NULL, FAILS},
    {"since", required_argument, NULL, SINCE},
    {"arms", required_argument, NULL, ARMS},
    {"first-link", required_argument, NULL, FIRST_LINK},
    {"second-link", required_argument, NULL, SECOND_LINK},
    {"height", required_argument, NULL, HEIGHT},
    {"distance", required_argument, NULL, DISTANCE},
    MEASURE_LONG_OPTIONS,
    {"sticker", no_argument, NULL, STICKER},
    {"invented", no_argument, NULL, INVENTED},
    {"json", no_argument, NULL, JSON},
    {"list", no_argument, NULL, LIST},
    {"all", no_argument, NULL, ALL},
    {"output", required_argument, NULL, OUTPUT},
    {"help", no_argument, NULL, HELP},
    {NULL, 0, NULL, 0},
};

#define COMMON WHO, HELP /* of parts that record something */
#define MOST_OPTIONS 24

/* usage: one form of the words or several, each on a line; a line that begins with blanks goes on
 * with the one before. words: how many stand behind the options, the job file included. */
static const struct part {
    const char *name, *usage, *does, *example;
    int (*run)(const struct job_words_given *given);
    int least_words, most_words;
    int allowed[MOST_OPTIONS];
} parts[] = {
    {"new",
     "FILE --model NAME --plan PLAN [--plan PLAN]...",
     "Starts a job file. PLAN is a ready-made plan (see plan --list) or a plan's text file; "
     "several "
     "are joined, stations with the same key only once.",
     "armsquare job new dunlin.job --model Dunlin --plan swashplate-bellcranks "
     "--plan tail-pushrod",
     job_command_new,
     1,
     1,
     {MODEL, PLAN, INVENTED, COMMON}},
    {"plan",
     "[FILE] [--list | --show NAME | --use PLAN] [--note TEXT]",
     "Writes the job's plan as a text file you can edit, lists the ready-made ones, shows one, or "
     "puts an edited plan into the job: a station for which it names no hardware keeps what was "
     "entered there.",
     "armsquare job plan dunlin.job > my.plan",
     job_command_plan,
     0,
     1,
     {LIST, SHOW, USE, NOTE, COMMON}},
    {"measure",
     "FILE STATION PHOTO... [--arms A,B] [--sticker]\n"
     "    [photo options] [--note TEXT]\n"
     "FILE STATION (--angle DEG... | --ends DEG,DEG --neutral DEG |\n"
     "    --lengths MM,MM) [--u U] [--note TEXT]\n"
     "FILE STATION PHOTO --first-link X,Y,X,Y --second-link X,Y,X,Y\n"
     "    --height MM --distance MM [photo options] [--note TEXT]",
     "Measures photos into a station, or records what you read by eye or with calipers, each "
     "number with how well it is known (97.3±0.3, 97.3u0.15), or all with --u. A parallel station "
     "takes two photos, one of each "
     "part; a centred one takes three: one end, the other end, neutral. --arms says which arm "
     "counts "
     "in each photo; when not given, the one that lies nearest to what the station asks is taken, "
     "and named where there are others. With --sticker a centred station is measured from the "
     "crank's sticker, against a card or fixed sticker that stays where it is; --arms A12 says "
     "which sticker where several show. A pair of links takes one photo that shows both before the "
     "card: the middles of each link's balls in pixels, the links' height in front of the card and "
     "the way from camera to card.",
     "armsquare job measure dunlin.job tail-horn tail.jpg",
     job_command_measure,
     2,
     JOB_MAX_WORDS,
     {ANGLE,        ENDS,          NEUTRAL,           LENGTHS,      U,
      NOTE,         ARMS,          FIRST_LINK,        SECOND_LINK,  HEIGHT,
      DISTANCE,     STICKER,       MEASURE_REFERENCE, MEASURE_HINT, MEASURE_ARM,
      MEASURE_BARS, MEASURE_FOCAL, MEASURE_TILT,      MEASURE_LENS, COMMON}},
    {"confirm",
     "FILE STATION [--fails WHY] [--note TEXT]",
     "Confirms what no photo can show: directions, free movement, blades off.",
     "armsquare job confirm dunlin.job drive-safe",
     job_command_confirm,
     2,
     2,
     {FAILS, NOTE, COMMON}},
    {"hardware",
     "FILE STATION [NAME=VALUE]... [--note TEXT]",
     "Shows or changes the hardware at a station; \"NAME=\" takes an entry away. Where a value "
     "changes to another because something else is fitted, the station and whatever rests on it "
     "are to be checked again, and with another servo its directions and neutral settings, too; "
     "the "
     "answer names them. So it is with the first part= of a station that was measured. Entering "
     "else what was not known leaves all as it stands.",
     "armsquare job hardware dunlin.job tail-horn teeth=25 horn-arm-mm=13.5",
     job_command_hardware,
     2,
     JOB_MAX_WORDS,
     {NOTE, COMMON}},
    {"recheck",
     "FILE [STATION]... [--note WHY]",
     "After a crash or a hard landing: all that was done is to be checked again, in the order of "
     "the work, beginning with what makes the bench safe. With stations named, those alone. What "
     "was found stays in the history; each station stays to be checked until it is measured or "
     "confirmed anew.",
     "armsquare job recheck dunlin.job --note \"hard landing\"",
     job_command_recheck,
     1,
     JOB_MAX_WORDS,
     {NOTE, COMMON}},
    {"note",
     "FILE [STATION] TEXT",
     "Adds a note to the log.",
     "armsquare job note dunlin.job tail-horn \"new screw, thread lock\"",
     job_command_note,
     2,
     3,
     {COMMON}},
    {"mark",
     "FILE NAME [--note TEXT]",
     "Names the present state, to compare with it later.",
     "armsquare job mark dunlin.job \"first flight\"",
     job_command_mark,
     2,
     2,
     {NOTE, COMMON}},
    {"undo",
     "FILE",
     "Withdraws the last thing recorded. It stays in the history.",
     "armsquare job undo dunlin.job",
     job_command_undo,
     1,
     1,
     {COMMON}},
    {"status",
     "FILE [--json]",
     "Shows every station, with the next thing to do on top.",
     "armsquare job status dunlin.job",
     job_command_status,
     1,
     1,
     {JSON, HELP}},
    {"history",
     "FILE [STATION]",
     "Shows all that happened, oldest first, withdrawn or not.",
     "armsquare job history dunlin.job tail-horn",
     job_command_history,
     1,
     2,
     {HELP}},
    {"report",
     "FILE -o REPORT.html|REPORT.pdf [--since MARK] [--all]",
     "Writes the report: state, table of stations, findings with photos, hardware, history. "
     "--since adds a comparison with a marked state, --all the photos of earlier measurements.",
     "armsquare job report dunlin.job -o dunlin.pdf",
     job_command_report,
     1,
     1,
     {OUTPUT, SINCE, ALL, HELP}},
    {"compare",
     "FILE (--since MARK | OTHER) [--json]",
     "Tells what moved since a marked state, as it was found first, whatever was set right by now; "
     "or in what it differs from another job file of the same model.",
     "armsquare job compare dunlin.job --since \"first flight\"",
     job_command_compare,
     1,
     2,
     {SINCE, JSON, HELP}},
    {"export",
     "FILE FOLDER",
     "Writes all of it as plain files: job.json, stations.csv, measurements.csv and the photos.",
     "armsquare job export dunlin.job dunlin-export",
     job_command_export,
     2,
     2,
     {HELP}},
    {"import",
     "FOLDER FILE",
     "Makes a job file from an exported folder.",
     "armsquare job import dunlin-export dunlin.job",
     job_command_import,
     2,
     2,
     {HELP}},
    {"demo",
     "FOLDER",
     "Makes the job of the invented club helicopter \"Dunlin\", with photos and finished report.",
     "armsquare job demo dunlin-demo",
     job_command_demo,
     1,
     1,
     {HELP}},
    {"check",
     "FILE",
     "Looks for damage in every page of the file, every photo, and findings that do not follow "
     "from their readings.",
     "armsquare job check dunlin.job",
     job_command_check,
     1,
     1,
     {HELP}},
};
#define PART_COUNT (sizeof parts / sizeof *parts)

/* How each option is written and what it says. Those of photos are in measure_options_help. */
static const struct {
    int option;
    const char *form, *means;
} option_words[] = {
    {MODEL, "--model NAME", "the model that the job is for"},
    {PLAN, "--plan PLAN", "a plan to work to; may be repeated"},
    {LIST, "--list", "the ready-made plans"},
    {SHOW, "--show NAME", "the text of a ready-made plan"},
    {USE, "--use PLAN", "the plan that the job is to have from now on"},
    {ARMS, "--arms A,B", "which arm counts in each photo, the last for all that follow"},
    {STICKER, "--sticker", "measure the crank's sticker"},
    {ANGLE, "--angle DEG", "an angle that was read; twice at a parallel station"},
    {ENDS, "--ends DEG,DEG", "the angles at both ends that were read"},
    {NEUTRAL, "--neutral DEG", "the angle at neutral that was read"},
    {LENGTHS, "--lengths MM,MM", "both links, by calipers; or one number, their difference"},
    {U, "--u U", "standard uncertainty of each reading without a ± of its own"},
    {FIRST_LINK, "--first-link X,Y,X,Y", "middles of the first link's balls, pixels"},
    {SECOND_LINK, "--second-link X,Y,X,Y", "middles of the second link's balls, pixels"},
    {HEIGHT, "--height MM", "how far the links lie in front of the card"},
    {DISTANCE, "--distance MM", "from camera to card"},
    {FAILS, "--fails WHY", "it does not hold"},
    {OUTPUT, "-o, --output FILE", "the report; .html or .pdf"},
    {SINCE, "--since MARK", "the marked state to compare with"},
    {ALL, "--all", "the photos of earlier measurements, too"},
    {NOTE, "--note TEXT", "a note beside what is recorded"},
    {JSON, "--json", "as JSON"},
    {WHO, "--who NAME", "who does it (login name, or ARMSQUARE_WHO)"},
    {HELP, "-h, --help", "this text"},
};

static bool allows(const struct part *part, int option)
{
    for (int i = 0; i < MOST_OPTIONS; i++)
        if (part->allowed[i] == option)
            return true;
    return false;
}

/* first and next: what stands before the first form and before the others. */
static void print_usage(FILE *to, const struct part *part, const char *first, const char *next)
{
    int indent = (int)strspn(next, " ");
    const char *line = part->usage;
    fputs(first, to);
    while (*line) {
        int length = (int)strcspn(line, "\n");
        fprintf(to, "%.*s\n", length, line);
        line += length + (line[length] == '\n');
        if (*line == ' ')
            fprintf(to, "%*s", indent, "");
        else if (*line)
            fputs(next, to);
    }
}

static void print_help(FILE *to)
{
    fputs(
        "usage: armsquare job PART ...\n\n"
        "A model's set-up in one file: stations in the order of the work, what was found, who and\n"
        "when. A station opens when those it rests on are good.\n\n",
        to);
    for (size_t i = 0; i < PART_COUNT; i++) {
        char first[16];
        snprintf(first, sizeof first, "  %-9s ", parts[i].name);
        print_usage(to, &parts[i], first, "            ");
    }
    fputs("\n\"armsquare job PART --help\" explains one part.\n\nexample:\n  ", to);
    fprintf(to, "%s\n", parts[0].example);
}

static void print_part_help(const struct part *part)
{
    char first[40], next[40];
    snprintf(first, sizeof first, "usage: armsquare job %s ", part->name);
    snprintf(next, sizeof next, "       armsquare job %s ", part->name);
    print_usage(stdout, part, first, next);
    putchar('\n');
    paragraph_text(stdout, "", part->does);
    putchar('\n');
    for (size_t i = 0; i < sizeof option_words / sizeof *option_words; i++)
        if (allows(part, option_words[i].option))
            printf("  %s%-*s  %s\n", option_words[i].form[1] == '-' ? "    " : "",
                   option_words[i].form[1] == '-' ? 22 : 26, option_words[i].form,
                   option_words[i].means);
    if (part->run == job_command_measure)
        printf("photo options\n%s", measure_options_help);
    if (part->run == job_command_hardware) {
        puts("hardware");
        for (int i = 0; plan_fact_name_at(i); i++) {
            char mark[40];
            snprintf(mark, sizeof mark, "      %-22s  ", plan_fact_name_at(i));
            paragraph_text(stdout, mark, plan_fact_meaning_at(i));
        }
    }
    printf("\nexample:\n  %s\n", part->example);
}

/* Two numbers joined by a comma, each of a size from low to high. */
static bool parse_two(const char *word, enum quantity_kind kind, double low, double high,
                      struct quantity out[2])
{
    char *copy = strdup(word);
    char *comma = copy ? strchr(copy, ',') : NULL;
    if (comma)
        *comma = '\0';
    bool good = comma && quantity_parse(copy, kind, &out[0]) == QUANTITY_FINE &&
                quantity_parse(comma + 1, kind, &out[1]) == QUANTITY_FINE;
    for (int i = 0; i < 2 && good; i++)
        good = fabs(out[i].value) >= low && fabs(out[i].value) <= high;
    free(copy);
    return good && (kind != QUANTITY_LENGTH || (out[0].value > 0 && out[1].value > 0));
}

/* Two links, or how much longer the first is. */
static int take_lengths(const char *word, struct job_words_given *given)
{
    given->length_count = 1;
    if (!strchr(word, ','))
        return option_quantity("lengths", word, QUANTITY_LENGTH, 0, LINK_MOST_MM,
                               &given->lengths[0]);
    given->length_count = 2;
    if (!parse_two(word, QUANTITY_LENGTH, LINK_LEAST_MM, LINK_MOST_MM, given->lengths))
        return fail_usage("--lengths takes the lengths of both links in mm, each from %g to %g, "
                          "such as 41.32,41.30, not \"%s\".",
                          LINK_LEAST_MM, LINK_MOST_MM, word);
    return EXIT_DONE;
}

/* Readings by eye or with calipers; the limits are those of advise. */
static int take_number(int option, const char *word, struct job_words_given *given)
{
    switch (option) {
    case ANGLE:
        if (given->angle_count == JOB_MAX_READINGS)
            return fail_usage("--angle is given too often; a station takes two at most.");
        return option_quantity("angle", word, QUANTITY_ANGLE, 0, 360,
                               &given->angles[given->angle_count++]);
    case ENDS:
        given->have_ends = true;
        if (!parse_two(word, QUANTITY_ANGLE, 0, 360, given->ends))
            return fail_usage("--ends takes the angles at both ends in degrees, each from -360 to "
                              "360, such as 51.2,128.4, not \"%s\".",
                              word);
        return EXIT_DONE;
    case NEUTRAL:
        given->have_neutral = true;
        return option_quantity("neutral", word, QUANTITY_ANGLE, 0, 360, &given->neutral);
    case LENGTHS:
        return take_lengths(word, given);
    default:
        return option_number("u", word, 1e-6, 45, &given->u);
    }
}

static const char **place_of(int option, struct job_words_given *given)
{
    switch (option) {
    case MODEL:
        return &given->model;
    case WHO:
        return &given->who;
    case NOTE:
        return &given->note;
    case USE:
        return &given->use;
    case SHOW:
        return &given->show;
    case FAILS:
        return &given->fails;
    case SINCE:
        return &given->since;
    case ARMS:
        return &given->arms;
    default:
        return &given->output;
    }
}

/* Words; false when there are too many plans or they are not plain. */
static bool take_word(int option, const char *word, struct job_words_given *given)
{
    if (option == PLAN) {
        if (given->plan_count == 16)
            return false;
        given->plans[given->plan_count++] = word;
        return true;
    }
    *place_of(option, given) = word;
    /* These become part of the file; the others are names of files or of what is in it. */
    return option == USE || option == SHOW || option == OUTPUT || plan_text_is_plain(word);
}

/* What tells of links in a photo; false when word is not what the option takes. */
static bool take_link(int option, const char *word, struct job_words_given *given)
{
    struct job_links *links = &given->links;
    links->given = true;
    switch (option) {
    case FIRST_LINK:
        return given->have_first = measure_points_parse(word, links->balls_px);
    case SECOND_LINK:
        return given->have_second = measure_points_parse(word, links->balls_px + 2);
    case HEIGHT:
        return (given->have_height =
                    quantity_parse(word, QUANTITY_LENGTH, &links->height_mm) == QUANTITY_FINE) &&
               links->height_mm.value >= 0;
    default:
        return quantity_parse(word, QUANTITY_LENGTH, &links->distance_mm) == QUANTITY_FINE &&
               links->distance_mm.value > 0;
    }
}

/* What needs no word behind it. false: option is none of these. */
static bool take_flag(int option, struct job_words_given *given)
{
    switch (option) {
    case JSON:
        return given->json = true;
    case LIST:
        return given->list = true;
    case ALL:
        return given->all = true;
    case INVENTED:
        return given->invented = true;
    case STICKER:
        return given->measure.stickers = true;
    default:
        return false;
    }
}

/* EXIT_DONE, or what a fail_usage() or fail_unusable() returned. */
static int take(const struct part *part, const char *name, int option,
                struct job_words_given *given)
{
    if (option >= MEASURE_REFERENCE) {
        given->have_measure = true;
        return measure_options_take(&given->measure, option, optarg);
    }
    if (option == ANGLE || option == ENDS || option == NEUTRAL || option == LENGTHS || option == U)
        return take_number(option, optarg, given);
    bool link =
        option == FIRST_LINK || option == SECOND_LINK || option == HEIGHT || option == DISTANCE;
    if (take_flag(option, given) ||
        (link ? take_link(option, optarg, given) : take_word(option, optarg, given)))
        return EXIT_DONE;
    if (option == HEIGHT || option == DISTANCE)
        return fail_usage(
            "--%s cannot be \"%s\": it is in mm, such as 260 for 26 cm, or in inches, "
            "such as \"10 in\".",
            name, optarg);
    return fail_usage("--%s cannot be \"%s\"; see \"armsquare job %s --help\".", name, optarg,
                      part->name);
}

/* Answers -1 to go on, otherwise the exit status. */
static int parse(int argc, char **argv, const struct part *part, struct job_words_given *given)
{
    bool seen[sizeof options / sizeof *options] = {false};
    char command[32];
    int option, index = 0;
    snprintf(command, sizeof command, "job %s", part->name);
    opterr = 0;
    while ((option = getopt_long(argc, argv, ":o:h", options, &index)) != -1) {
        if (option == '?' || option == ':')
            return usage_unknown_option(command, option, argv);
        if (option == 'h' || option == HELP) {
            print_part_help(part);
            return EXIT_DONE;
        }
        if (option == 'o')
            option = OUTPUT;
        int status = option == ANGLE || option == PLAN
                         ? EXIT_DONE
                         : option_taken(options, option, &index, seen);
        if (status != EXIT_DONE)
            return status;
        const char *name = options[index].name;
        if (!allows(part, option))
            return fail_usage("\"job %s\" has no option --%s; see \"armsquare job %s --help\".",
                              part->name, name, part->name);
        status = take(part, name, option, given);
        if (status != EXIT_DONE)
            return status;
    }
    for (; optind < argc && given->count < JOB_MAX_WORDS; optind++)
        given->words[given->count++] = argv[optind];
    if (given->count < part->least_words || given->count > part->most_words || optind < argc)
        return fail_usage(
            "the words are: armsquare job %s %.*s; \"armsquare job %s --help\" explains "
            "them.",
            part->name, (int)strcspn(part->usage, "\n"), part->usage, part->name);
    int status = measure_options_check(&given->measure);
    return status == EXIT_DONE ? -1 : status;
}

int cmd_job(int argc, char **argv)
{
    struct job_words_given given = {.measure = measure_options_start()};
    int status = answer_overview(argc, argv, print_help);
    if (status >= 0)
        return status;
    for (size_t i = 0; i < PART_COUNT; i++)
        if (strcmp(argv[1], parts[i].name) == 0) {
            status = parse(argc - 1, argv + 1, &parts[i], &given);
            return status >= 0 ? status : parts[i].run(&given);
        }
    return fail_usage("\"job\" has no part \"%s\"; \"armsquare job --help\" lists them all.",
                      argv[1]);
}
