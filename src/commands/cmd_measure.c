/* armsquare measure: angles from photos. Its words; what they ask for is done in measure_batch.c
 * and measure_several.c. */
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "commands.h"
#include "measure/measure_batch.h"
#include "measure/measure_options.h"
#include "measure/measure_photo.h"
#include "measure/measure_several.h"
#include "result/sticker_turn.h"

#include <getopt.h>
#include <stdio.h>
#include <string.h>

static const char help_start[] =
    "usage: armsquare measure [OPTIONS] PHOTO...\n"
    "\n"
    "Tells how far the arms in each photo are from square, and which way to turn them. Beside\n"
    "each photo it writes a picture that shows it: NAME.armsquare.png.\n"
    "\n"
    "      --out DIR         write the pictures into this folder\n"
    "  -o, --output FILE     write the picture of a single photo to this file (.png)\n"
    "      --no-picture      write no picture\n"
    "      --json            answers as JSON, a line for each photo\n"
    "      --tolerance DEG   is the arm within this? yes, no or cannot tell\n"
    "      --target DEG      of this angle, instead of square (--tolerance 0.5 unless told)\n"
    "      --together        the photos show one part that was not moved: one answer from all\n"
    "      --card-moved      with --together: the card was laid anew for each photo\n"
    "      --sticker         the crank carries a printed sticker: how far it turned from photo\n"
    "                        to photo\n"
    "      --centred         with --sticker and three photos (one end, other end, neutral): is\n"
    "                        neutral in the middle? and the command that says what to do\n";
static const char help_end[] =
    "  -h, --help            this text\n"
    "\n"
    "Behind \"±\" stands the uncertainty: 95 of 100 photos lie within it. Directions are as seen\n"
    "in the photo.\n"
    "\n"
    "With --together a photo may say which way the part turned as it came to rest, as seen in\n"
    "the photo: a.jpg@cw (clockwise), b.jpg@ccw. Backlash is then told by itself.\n"
    "Other commands take its mean as a number: \"armsquare advise\" as the deviation with its ±,\n"
    "\"armsquare job measure\" as the angle with half the ± (it files it as read by eye: note\n"
    "there that it is the mean of three photos).\n"
    "\n"
    "With --tolerance the answer is yes when the arm is within it even by its \"±\", no when it\n"
    "is outside even by that (ISO 14253-1). In between it says what would help.\n"
    "\n"
    "With --sticker a card, or a sticker F or G on the frame, must lie where it is in all\n"
    "photos, parallel to the crank's face. Where the arm points a sticker cannot say: how it\n"
    "was glued is unknown, and cancels only in changes.\n"
    "\n"
    "Exit status: 0 every photo gave an answer, 3 some did not, 2 wrong words, 1 trouble writing.\n"
    "\n"
    "examples:\n"
    "  armsquare measure rudder.jpg\n"
    "  armsquare measure --json --out pictures *.jpg\n"
    "  armsquare measure --tolerance 1 rudder.jpg\n"
    "  armsquare measure --together one.jpg two.jpg three.jpg\n"
    "  armsquare measure --together a.jpg@cw b.jpg@ccw c.jpg@cw d.jpg@ccw\n"
    "  armsquare measure --sticker --centred left.jpg right.jpg neutral.jpg\n";

enum {
    OPTION_FOLDER = 256,
    OPTION_NO_PICTURE,
    OPTION_JSON,
    OPTION_TOLERANCE,
    OPTION_TARGET,
    OPTION_TOGETHER,
    OPTION_CARD_MOVED,
    OPTION_STICKER,
    OPTION_CENTRED
};

static int take_option(struct measure_asked *asked, int option, char **argv)
{
    switch (option) {
    case 'o':
        asked->output = optarg;
        return EXIT_DONE;
    case OPTION_FOLDER:
        asked->folder = optarg;
        return EXIT_DONE;
    case OPTION_NO_PICTURE:
        asked->no_picture = true;
        return EXIT_DONE;
    case OPTION_JSON:
        asked->json = true;
        return EXIT_DONE;
    case OPTION_TOGETHER:
        asked->together = true;
        return EXIT_DONE;
    case OPTION_CARD_MOVED:
        asked->card_moved = true;
        return EXIT_DONE;
    case OPTION_STICKER:
        asked->given.stickers = true;
        return EXIT_DONE;
    case OPTION_CENTRED:
        asked->centred = true;
        return EXIT_DONE;
    case OPTION_TOLERANCE:
        return option_number("tolerance", optarg, 0.001, 45, &asked->verdict.tolerance_deg);
    case OPTION_TARGET:
        asked->verdict.have_target = true;
        return option_number("target", optarg, -360, 360, &asked->verdict.target_deg);
    case ':':
    case '?':
        return usage_unknown_option("measure", option, argv);
    default:
        return measure_options_take(&asked->given, option, optarg);
    }
}

static int check_sticker_words(const struct measure_asked *asked, int photos)
{
    const struct vision_options *options = &asked->given.options;
    if (asked->centred && !asked->given.stickers)
        return fail_usage("--centred goes with --sticker.");
    if (!asked->given.stickers)
        return EXIT_DONE;
    if (asked->together || asked->verdict.tolerance_deg > 0 || options->have_arm_hint ||
        options->reference != VISION_REFERENCE_CARD)
        return fail_usage("--sticker goes without --together, --tolerance, --target, --arm and "
                          "--reference.");
    if (asked->centred && photos != 3)
        return fail_usage("--centred takes three photos: one end, the other end, neutral.");
    if (photos < 2 || photos > STICKER_MAX_PHOTOS)
        return fail_usage("--sticker takes 2 to %d photos: one alone does not tell where the arm "
                          "points, only a change does.",
                          STICKER_MAX_PHOTOS);
    return EXIT_DONE;
}

static int check_words(const struct measure_asked *asked, int photos)
{
    if (photos < 1)
        return fail_usage("give at least one photo, such as \"armsquare measure rudder.jpg\".");
    if ((asked->output != NULL) + (asked->folder != NULL) + asked->no_picture > 1)
        return fail_usage("-o, --out and --no-picture exclude each other: give one of them.");
    if (asked->output && photos > 1)
        return fail_usage("-o names the picture of one photo; for several use --out DIR.");
    if (asked->together && (photos < 2 || photos > COMBINE_MAX_PHOTOS))
        return fail_usage("--together takes 2 to %d photos of one part.", COMBINE_MAX_PHOTOS);
    if (asked->card_moved && !asked->together)
        return fail_usage("--card-moved goes with --together.");
    int status = check_sticker_words(asked, photos);
    if (status == EXIT_DONE && photos > 1 && (!asked->together || asked->card_moved) &&
        measure_options_point(&asked->given))
        status = measure_options_of_one_photo();
    if (status == EXIT_DONE && asked->output)
        status = option_output("-o FILE", asked->output, ".png");
    return status == EXIT_DONE ? measure_options_check(&asked->given) : status;
}

/* How many of the paths are left, in their order, without the pictures of an earlier run, which "*"
 * finds as well; all where there is nothing else. */
static int leave_out_pictures(char **photos, int count)
{
    const char *first = NULL;
    int kept = 0;
    for (int i = 0; i < count; i++)
        if (!measure_photo_is_own_picture(photos[i]))
            photos[kept++] = photos[i];
        else if (!first)
            first = photos[i];
    if (kept == 0 || !first)
        return count;
    if (count - kept == 1)
        message_note("\"%s\" is a picture that this program drew and is left out.", first);
    else
        message_note("\"%s\" and %d more are pictures that this program drew and are left out.",
                     first, count - kept - 1);
    return kept;
}

static int answer(const struct measure_asked *asked, char **photos, int count)
{
    struct measure_batch batch;
    bool several = asked->together || asked->given.stickers;
    int status = measure_batch_start(&batch, asked, photos, (size_t)count);
    if (status == EXIT_DONE)
        status = measure_several_start(&batch);
    if (status == EXIT_DONE)
        status = measure_batch_run(&batch);
    if (status == EXIT_DONE && several)
        status = measure_several_answer(&batch);
    if (status == EXIT_DONE && batch.failed > 0)
        status = EXIT_UNUSABLE;
    measure_batch_clear(&batch);
    return status;
}

int cmd_measure(int argc, char **argv)
{
    static const struct option options[] = {
        {"output", required_argument, NULL, 'o'},
        {"out", required_argument, NULL, OPTION_FOLDER},
        {"no-picture", no_argument, NULL, OPTION_NO_PICTURE},
        {"json", no_argument, NULL, OPTION_JSON},
        {"together", no_argument, NULL, OPTION_TOGETHER},
        {"tolerance", required_argument, NULL, OPTION_TOLERANCE},
        {"target", required_argument, NULL, OPTION_TARGET},
        {"card-moved", no_argument, NULL, OPTION_CARD_MOVED},
        {"sticker", no_argument, NULL, OPTION_STICKER},
        {"centred", no_argument, NULL, OPTION_CENTRED},
        {"help", no_argument, NULL, 'h'},
        MEASURE_LONG_OPTIONS,
        {NULL, 0, NULL, 0},
    };
    struct measure_asked asked = {.given = measure_options_start()};
    bool seen[sizeof options / sizeof *options] = {false};
    int option, index = 0;
    opterr = 0;
    while ((option = getopt_long(argc, argv, ":o:h", options, &index)) != -1) {
        if (option == 'h') {
            printf("%s%s%s", help_start, measure_options_help, help_end);
            return EXIT_DONE;
        }
        int status = option_taken(options, option, &index, seen);
        if (status == EXIT_DONE)
            status = take_option(&asked, option, argv);
        if (status != EXIT_DONE)
            return status;
    }
    if (asked.verdict.have_target && !(asked.verdict.tolerance_deg > 0))
        asked.verdict.tolerance_deg = DECISION_USUAL_DEG;
    const int count = leave_out_pictures(argv + optind, argc - optind);
    int status = check_words(&asked, count);
    return status == EXIT_DONE ? answer(&asked, argv + optind, count) : status;
}
