/* armsquare measure: angles from photos, many at once, each with its annotated picture. */
#include "annotate.h"
#include "answer.h"
#include "clean_text.h"
#include "commands.h"
#include "measure_json.h"
#include "measure_options.h"
#include "measure_photo.h"
#include "measure_words.h"
#include "message.h"
#include "option_value.h"
#include "parallel.h"
#include "picture_path.h"
#include "reasons.h"
#include "same_file.h"
#include "same_photo.h"
#include "sticker_turn.h"
#include "together.h"
#include "verdict.h"

#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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
    "      --tolerance DEG   is the arm within this? accept, reject or cannot tell\n"
    "      --target DEG      with --tolerance: of this angle, instead of square\n"
    "      --together        the photos show one part that was not moved: one answer from all\n"
    "      --card-moved      with --together: the card was laid anew for each photo\n"
    "      --sticker         the crank carries a printed sticker: how far it turned from photo\n"
    "                        to photo\n"
    "      --centred         with --sticker and three photos (one end, other end, neutral): is\n"
    "                        neutral in the middle?\n";
static const char help_end[] =
    "  -h, --help            this text\n"
    "\n"
    "Behind \"±\" stands the uncertainty: 95 of 100 photos lie within it. Directions are as seen\n"
    "in the photo.\n"
    "\n"
    "With --together a photo may say which way the part turned as it came to rest, as seen in\n"
    "the photo: a.jpg@cw (clockwise), b.jpg@ccw. Backlash is then told apart from noise.\n"
    "\n"
    "With --tolerance an arm is accepted when it is within it even by its \"±\", rejected when\n"
    "it is outside even by that (ISO 14253-1). In between the answer says what would help.\n"
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

/* One photo on its way, without its mark. picture_path is NULL when no picture is wanted. */
struct job {
    char *path;
    enum combine_side side;
    char *picture_path;
    struct vision_result result;
    char *line;          /* the JSON, when it is asked for */
    const char *trouble; /* what kept the photo from being measured, beyond result.reason */
    enum annotate_fault picture_fault;
    int picture_errno;
    bool out_of_memory;
};

struct words {
    struct measure_words_given given;
    const char *folder, *output;
    bool no_picture, json, together, card_moved, centred;
    struct verdict_asked asked; /* tolerance_deg 0: not asked */
};

struct batch {
    struct words words;
    struct job *jobs;
    size_t count, failed;
    bool trouble, terminal, bold;
};

/* ---- One photo ---------------------------------------------------------------------------- */

/* false when nothing was asked or there is nothing to judge. */
static bool judge(const struct vision_result *result, const struct words *words,
                  struct verdict *out)
{
    if (!(words->asked.tolerance_deg > 0) || result->status == VISION_FAILED ||
        result->arm_count < 1)
        return false;
    verdict_make(result->arms, result->arm_count, result->status != VISION_OK,
                 result->obliquity_deg, sharpen_closer(result), false, &words->asked, out);
    return true;
}

/* The measurement with its decision. */
static json_t *answer_json(const struct job *job, const struct words *words)
{
    struct verdict verdict;
    if (!(words->asked.tolerance_deg > 0))
        return measure_json(job->path, &job->result);
    bool judged = judge(&job->result, words, &verdict);
    return measure_judged_json(job->path, &job->result, judged ? &verdict : NULL);
}

/* What the picture shows where a tolerance was asked for: the same as the words. */
static bool set_goal(const struct vision_result *result, const struct words *words,
                     char from[VERDICT_FROM], struct annotate_goal *goal)
{
    struct verdict verdict;
    if (!judge(result, words, &verdict))
        return false;
    verdict_from(&verdict, "°", from);
    *goal = (struct annotate_goal){.arm = verdict.index,
                                   .judged = true,
                                   .from = from,
                                   .off_deg = verdict.off_deg,
                                   .expanded_deg = verdict.expanded_deg,
                                   .tolerance_deg = verdict.asked.tolerance_deg,
                                   .undecided = verdict_undecided(&verdict)};
    return true;
}

/* A sticker is noted, never judged: it has a meaning beside its other photos only. */
static bool set_sticker_goal(const struct vision_result *result, struct annotate_goal *goal)
{
    *goal = (struct annotate_goal){.role = "Read. Only changes between photos count."};
    return result->status != VISION_FAILED;
}

static void draw_picture(struct job *job, const struct vision_photo *photo,
                         const struct words *words)
{
    char from[VERDICT_FROM];
    struct annotate_goal goal;
    bool asked = words->given.stickers ? set_sticker_goal(&job->result, &goal)
                                       : set_goal(&job->result, words, from, &goal);
    json_t *measurement = answer_json(job, words);
    job->picture_fault = measurement
                             ? annotate_write(job->picture_path, job->path, photo, &job->result,
                                              measurement, asked ? &goal : NULL)
                             : ANNOTATE_MEMORY;
    job->picture_errno = errno;
    json_decref(measurement);
}

static void measure_job(struct job *job, const struct words *words)
{
    struct vision_photo *photo;
    job->trouble = measure_photo_open(job->path, &photo, &job->result);
    if (job->trouble)
        return;
    measure_photo(photo, &words->given, &job->result);
    if (job->picture_path)
        draw_picture(job, photo, words);
    vision_photo_free(photo);
}

static void make_line(struct job *job, const struct words *words)
{
    json_t *object = answer_json(job, words);
    if (object && job->trouble)
        json_object_set_new(object, "message", json_string(job->trouble));
    job->line = object ? json_dumps(object, MEASURE_JSON_FLAGS) : NULL;
    json_decref(object);
    job->out_of_memory = !job->line;
}

static void work(void *context, size_t i)
{
    struct batch *batch = context;
    struct job *job = &batch->jobs[i];
    measure_job(job, &batch->words);
    if (batch->words.json)
        make_line(job, &batch->words);
}

/* ---- The answer --------------------------------------------------------------------------- */

static void print_failure(const char *name, const struct job *job)
{
    const char *sentence = job->trouble ? job->trouble : reason_sentence(job->result.reason);
    fail_unusable("%s: %s", name, sentence);
}

/* Takes the text. */
static void print_lines(char *text)
{
    char *rest = text;
    for (char *line; rest && (line = strsep(&rest, "\n")) && *line;)
        printf("    %s\n", line);
    free(text);
}

static void print_answer(const struct batch *batch, const char *name, const struct job *job)
{
    char text[MEASURE_WORDS];
    struct verdict verdict;
    bool judged = judge(&job->result, &batch->words, &verdict);
    measure_message(&job->result, judged ? &verdict : NULL, text);
    printf("%s%s: %s%s\n", batch->bold ? "\033[1m" : "", name, text, batch->bold ? "\033[0m" : "");
    int told = judged ? verdict.index : 0;
    for (int i = 0; i < job->result.arm_count && !job->result.of_stickers; i++) {
        if (i == told)
            continue;
        measure_arm_sentence(&job->result.arms[i], text);
        printf("    %s\n", text);
    }
    if (job->result.status != VISION_FAILED) {
        measure_witness_sentence(&job->result.witness, text);
        if (*text)
            printf("    %s\n", text);
    }
    if (judged)
        print_lines(verdict_words(&verdict));
    if (*job->result.lens)
        printf("    Lens: profile of %s\n", job->result.lens);
    if (job->picture_path && job->picture_fault == ANNOTATE_FINE)
        printf("    Picture: %s\n", job->picture_path);
}

static void report_picture(struct batch *batch, const struct job *job)
{
    /* What keeps a photo from being drawn kept it from being measured, and was said there. */
    if (job->picture_fault == ANNOTATE_FINE || job->picture_fault == ANNOTATE_PHOTO)
        return;
    batch->trouble = true;
    fail_trouble("\"%s\" could not be written: %s.", job->picture_path,
                 job->picture_fault == ANNOTATE_MEMORY ? "there is not enough memory"
                                                       : strerror(job->picture_errno));
}

static void show_progress(const struct batch *batch, size_t finished)
{
    if (batch->count < 2)
        return;
    if (batch->terminal) {
        fprintf(stderr, "\r\033[K");
        if (finished < batch->count)
            fprintf(stderr, "%zu of %zu photos", finished, batch->count);
    } else if (batch->count >= 20 && finished % (batch->count / 10) == 0) {
        fprintf(stderr, "armsquare: %zu of %zu photos are measured.\n", finished, batch->count);
    }
}

static void done(void *context, size_t i)
{
    struct batch *batch = context;
    struct job *job = &batch->jobs[i];
    char *name = clean_text(job->path);
    if (batch->terminal && batch->count > 1)
        fprintf(stderr, "\r\033[K"); /* answers must not run into the progress line */
    if (batch->words.json && job->line)
        puts(job->line);
    if (job->result.status == VISION_FAILED) {
        batch->failed++;
        print_failure(name ? name : "?", job);
    } else if (!batch->words.json) {
        print_answer(batch, name ? name : "?", job);
    }
    if (job->out_of_memory) {
        batch->trouble = true;
        fail_trouble("there is not enough memory to show the answer.");
    }
    report_picture(batch, job);
    fflush(stdout);
    show_progress(batch, i + 1);
    free(name);
    free(job->line);
    job->line = NULL;
}

/* ---- All photos as one -------------------------------------------------------------------- */

/* Judges the means. How square and close the photos were is that of the first one used. */
static bool judge_together(const struct batch *batch, const struct together *t, struct verdict *out)
{
    struct vision_arm arms[VISION_MAX_ARMS];
    if (t->fault || !(batch->words.asked.tolerance_deg > 0))
        return false;
    const struct vision_result *first = &batch->jobs[t->arms[0].photos[0]].result;
    for (int i = 0; i < t->arm_count; i++)
        arms[i] = t->arms[i].all.arm;
    verdict_make(arms, t->arm_count, t->disagree || t->unsure_photos, first->obliquity_deg,
                 sharpen_closer(first), true, &batch->words.asked, out);
    return true;
}

static int print_together(const struct batch *batch, const struct together *t,
                          const struct together_photo *photos)
{
    struct verdict verdict;
    bool judged = judge_together(batch, t, &verdict);
    const struct verdict *asked = judged ? &verdict : NULL;
    if (batch->words.json) {
        json_t *json = together_json(t, photos, asked);
        if (json && judged)
            json_object_set_new(json_object_get(json, "together"), "decision",
                                verdict_json(&verdict));
        return answer_print_json(json, MEASURE_JSON_FLAGS);
    }
    char *message = together_message(t, photos, asked);
    char *details = together_details(t, photos, judged ? verdict.index : 0);
    bool good = message && details;
    if (good)
        printf("%sTogether: %s%s\n", batch->bold ? "\033[1m" : "", message,
               batch->bold ? "\033[0m" : "");
    print_lines(details);
    if (good && judged)
        print_lines(verdict_words(&verdict));
    free(message);
    return good ? EXIT_DONE : fail_trouble("there is not enough memory to show the answer.");
}

/* ---- Stickers ----------------------------------------------------------------------------- */

static int print_turns(const struct batch *batch, const struct sticker_turn *turn,
                       const struct sticker_photo *photos)
{
    if (batch->words.json) {
        int status = answer_print_json(sticker_turn_json(turn, photos), MEASURE_JSON_FLAGS);
        if (status != EXIT_DONE)
            return status;
    } else if (!turn->fault) {
        char *text = sticker_turn_words(turn, photos);
        if (!text)
            return fail_trouble("there is not enough memory to compare the photos.");
        fputs(text, stdout);
        free(text);
    }
    if (turn->fault)
        return fail_unusable("stickers: %s", sticker_fault_says(turn->fault));
    return EXIT_DONE;
}

static int compare_stickers(const struct batch *batch)
{
    struct sticker_photo photos[STICKER_MAX_PHOTOS];
    struct sticker_turn turn;
    for (size_t i = 0; i < batch->count; i++)
        photos[i] = (struct sticker_photo){batch->jobs[i].path, &batch->jobs[i].result};
    sticker_turn_make(photos, (int)batch->count, batch->words.centred, &turn);
    return print_turns(batch, &turn, photos);
}

static int put_together(const struct batch *batch)
{
    struct together_photo photos[COMBINE_MAX_PHOTOS];
    struct together *t = malloc(sizeof *t);
    int status = EXIT_DONE;
    if (!t)
        return fail_trouble("there is not enough memory to put the photos together.");
    for (size_t i = 0; i < batch->count; i++) {
        const struct job *job = &batch->jobs[i];
        photos[i] = (struct together_photo){job->path, &job->result, job->side};
    }
    together_make(photos, (int)batch->count, batch->words.given.options.card_tilt_deg,
                  batch->words.card_moved, t);
    if (!t->fault || batch->words.json)
        status = print_together(batch, t, photos);
    if (t->fault && status == EXIT_DONE)
        status = fail_unusable("together: %s", together_fault_says(t->fault));
    free(t);
    return status;
}

/* "a.jpg@cw" is a.jpg, come to rest clockwise; a file that has the whole name is taken as it is. */
static enum combine_side take_mark(char *path)
{
    static const struct {
        const char *mark;
        enum combine_side side;
    } marks[] = {{"@cw", COMBINE_CLOCKWISE}, {"@ccw", COMBINE_COUNTER_CLOCKWISE}};
    char *at = strrchr(path, '@');
    for (size_t i = 0; at && i < sizeof marks / sizeof marks[0]; i++) {
        if (strcmp(at, marks[i].mark) != 0 || access(path, F_OK) == 0)
            continue;
        *at = '\0';
        return marks[i].side;
    }
    return COMBINE_SIDE_UNKNOWN;
}

/* Photos that are put together each count for something. */
static int check_photos(const struct batch *batch)
{
    if (!batch->words.together && !batch->words.given.stickers)
        return EXIT_DONE;
    return refuse_same_photo(&batch->jobs[0].path, batch->count, sizeof batch->jobs[0]);
}

static int check_marks(const struct batch *batch)
{
    size_t marked[3] = {0};
    for (size_t i = 0; i < batch->count; i++)
        marked[batch->jobs[i].side]++;
    size_t unmarked = marked[COMBINE_SIDE_UNKNOWN];
    if (unmarked == batch->count)
        return EXIT_DONE;
    if (unmarked > 0)
        return fail_usage(
            "mark every photo with @cw or @ccw, the way the part turned as it came to "
            "rest, or none.");
    if (!marked[COMBINE_CLOCKWISE] || !marked[COMBINE_COUNTER_CLOCKWISE])
        return fail_usage(
            "backlash shows between photos from both sides: mark at least one @cw and "
            "one @ccw.");
    return EXIT_DONE;
}

/* ---- The batch ---------------------------------------------------------------------------- */

/* No picture may land on a photo that was given, nor two on one name. */
static int check_places(const struct batch *batch)
{
    for (size_t i = 0; i < batch->count; i++) {
        const char *picture = batch->jobs[i].picture_path;
        struct stat about;
        bool exists = stat(picture, &about) == 0;
        if (exists && S_ISDIR(about.st_mode))
            return fail_usage("\"%s\" is a folder; give a file name, or the folder with --out.",
                              picture);
        for (size_t j = 0; j < batch->count; j++) {
            if (exists && same_file(picture, batch->jobs[j].path))
                return fail_usage("the picture of \"%s\" would overwrite the photo \"%s\"; name "
                                  "another place with -o or --out.",
                                  batch->jobs[i].path, batch->jobs[j].path);
            if (j < i && strcmp(picture, batch->jobs[j].picture_path) == 0)
                return fail_usage("the pictures of \"%s\" and \"%s\" would both be \"%s\"; "
                                  "measure them one by one, or with --no-picture.",
                                  batch->jobs[j].path, batch->jobs[i].path, picture);
        }
    }
    return EXIT_DONE;
}

static int make_folder(const char *folder)
{
    struct stat about;
    if (mkdir(folder, 0777) == 0 ||
        (errno == EEXIST && stat(folder, &about) == 0 && S_ISDIR(about.st_mode)))
        return EXIT_DONE;
    return fail_trouble("the folder \"%s\" could not be made: %s.", folder, strerror(errno));
}

static int choose_places(struct batch *batch)
{
    const struct words *words = &batch->words;
    if (words->no_picture)
        return EXIT_DONE;
    for (size_t i = 0; i < batch->count; i++) {
        struct job *job = &batch->jobs[i];
        job->picture_path =
            words->output ? strdup(words->output) : picture_path(job->path, words->folder);
        if (!job->picture_path)
            return fail_trouble("there is not enough memory for so many photos.");
    }
    int status = check_places(batch);
    if (status == EXIT_DONE && words->folder)
        status = make_folder(words->folder);
    return status;
}

static int run(struct batch *batch)
{
    int status = choose_places(batch);
    if (status != EXIT_DONE)
        return status;
    batch->terminal = isatty(STDERR_FILENO);
    batch->bold = isatty(STDOUT_FILENO) && !getenv("NO_COLOR");
    parallel_in_order(batch->count, work, done, batch);
    if (batch->trouble)
        return EXIT_TROUBLE;
    status = batch->words.together         ? put_together(batch)
             : batch->words.given.stickers ? compare_stickers(batch)
                                           : EXIT_DONE;
    if (status != EXIT_DONE)
        return status;
    return batch->failed ? EXIT_UNUSABLE : EXIT_DONE;
}

static int start(const struct words *words, char **photos, int count)
{
    struct batch batch = {.words = *words, .count = (size_t)count};
    batch.words.given.options.threads = parallel_share(batch.count);
    batch.jobs = calloc(batch.count, sizeof *batch.jobs);
    if (!batch.jobs)
        return fail_trouble("there is not enough memory for so many photos.");
    bool copied = true;
    for (size_t i = 0; i < batch.count; i++) {
        struct job *job = &batch.jobs[i];
        job->path = strdup(photos[i]);
        copied = copied && job->path;
        if (job->path && words->together)
            job->side = take_mark(job->path);
    }
    int status = copied ? check_marks(&batch)
                        : fail_trouble("there is not enough memory for so many photos.");
    if (status == EXIT_DONE)
        status = check_photos(&batch);
    if (status == EXIT_DONE)
        status = run(&batch);
    for (size_t i = 0; i < batch.count; i++) {
        free(batch.jobs[i].path);
        free(batch.jobs[i].picture_path);
    }
    free(batch.jobs);
    return status;
}

/* ---- Words -------------------------------------------------------------------------------- */

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

static int take_option(struct words *words, int option, char **argv)
{
    switch (option) {
    case 'o':
        words->output = optarg;
        return EXIT_DONE;
    case OPTION_FOLDER:
        words->folder = optarg;
        return EXIT_DONE;
    case OPTION_NO_PICTURE:
        words->no_picture = true;
        return EXIT_DONE;
    case OPTION_JSON:
        words->json = true;
        return EXIT_DONE;
    case OPTION_TOGETHER:
        words->together = true;
        return EXIT_DONE;
    case OPTION_CARD_MOVED:
        words->card_moved = true;
        return EXIT_DONE;
    case OPTION_STICKER:
        words->given.stickers = true;
        return EXIT_DONE;
    case OPTION_CENTRED:
        words->centred = true;
        return EXIT_DONE;
    case OPTION_TOLERANCE:
        return option_number("tolerance", optarg, 0.001, 45, &words->asked.tolerance_deg);
    case OPTION_TARGET:
        words->asked.have_target = true;
        return option_number("target", optarg, -360, 360, &words->asked.target_deg);
    case ':':
    case '?':
        return usage_unknown_option("measure", option, argv);
    default:
        return measure_options_take(&words->given, option, optarg);
    }
}

static bool ends_in_png(const char *path)
{
    size_t length = strlen(path);
    return length > 4 && strcasecmp(path + length - 4, ".png") == 0;
}

static int check_sticker_words(const struct words *words, int photos)
{
    const struct vision_options *options = &words->given.options;
    if (words->centred && !words->given.stickers)
        return fail_usage("--centred goes with --sticker.");
    if (!words->given.stickers)
        return EXIT_DONE;
    if (words->together || words->asked.tolerance_deg > 0 || options->have_arm_hint ||
        options->reference != VISION_REFERENCE_CARD)
        return fail_usage("--sticker goes without --together, --tolerance, --arm and --reference.");
    if (words->centred && photos != 3)
        return fail_usage("--centred takes three photos: one end, the other end, neutral.");
    if (photos < 2 || photos > STICKER_MAX_PHOTOS)
        return fail_usage("--sticker takes 2 to %d photos: one alone does not tell where the arm "
                          "points, only a change does.",
                          STICKER_MAX_PHOTOS);
    return EXIT_DONE;
}

static int check_words(const struct words *words, int photos)
{
    if (photos < 1)
        return fail_usage("give at least one photo, such as \"armsquare measure rudder.jpg\".");
    if ((words->output != NULL) + (words->folder != NULL) + words->no_picture > 1)
        return fail_usage("-o, --out and --no-picture exclude each other: give one of them.");
    if (words->output && photos > 1)
        return fail_usage("-o names the picture of one photo; for several use --out DIR.");
    if (words->output && !ends_in_png(words->output))
        return fail_usage("\"%s\" must end in .png: that is what pictures are written as.",
                          words->output);
    if (words->together && (photos < 2 || photos > COMBINE_MAX_PHOTOS))
        return fail_usage("--together takes 2 to %d photos of one part.", COMBINE_MAX_PHOTOS);
    if (words->asked.have_target && !(words->asked.tolerance_deg > 0))
        return fail_usage("--target goes with --tolerance, which says how near is near enough.");
    if (words->card_moved && !words->together)
        return fail_usage("--card-moved goes with --together.");
    int status = check_sticker_words(words, photos);
    return status == EXIT_DONE ? measure_options_check(&words->given) : status;
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
    struct words words = {.given = measure_options_start()};
    int option;
    opterr = 0;
    while ((option = getopt_long(argc, argv, ":o:h", options, NULL)) != -1) {
        if (option == 'h') {
            printf("%s%s%s", help_start, measure_options_help, help_end);
            return EXIT_DONE;
        }
        int status = take_option(&words, option, argv);
        if (status != EXIT_DONE)
            return status;
    }
    int status = check_words(&words, argc - optind);
    return status == EXIT_DONE ? start(&words, argv + optind, argc - optind) : status;
}
