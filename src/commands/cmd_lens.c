/* armsquare lens: a camera profile from photos of the printed card. */
#include "base/answer.h"
#include "base/clean_text.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "base/paragraph.h"
#include "base/shell_word.h"
#include "commands.h"
#include "lens/lens_profile.h"
#include "lens/lens_shelf.h"
#include "lens/lens_words.h"
#include "measure/measure_options.h"
#include "measure/measure_photo.h"
#include "measure/same_photo.h"
#include "parallel.h"
#include "result/reasons.h"

#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char help[] =
    "usage: armsquare lens [OPTIONS] PHOTO...\n"
    "\n"
    "Learns how a camera's lens bends the picture, from 8 or more photos of the printed card,\n"
    "and keeps it as a profile. Photos of that camera are measured with it from then on.\n"
    "\n"
    "Glue the card to something flat. Take the photos from the distance at which you photograph\n"
    "horns, without zoom: slanting from the left, the right, above and below, and with the card\n"
    "in each corner of the picture. A part may lie before the card.\n"
    "\n"
    "  -o, --output FILE  write the profile to this file (.json) instead of keeping it\n"
    "      --bars X,Y     lengths of the two printed bars of 100 mm, as calipers tell them\n"
    "      --json         the answer as JSON\n"
    "  -h, --help         this text\n"
    "\n"
    "Exit status: 0 there is a profile, 3 the photos do not give one, 2 wrong words, 1 trouble\n"
    "writing.\n"
    "\n"
    "example:\n"
    "  armsquare lens card1.jpg card2.jpg card3.jpg card4.jpg card5.jpg card6.jpg card7.jpg \\\n"
    "                 card8.jpg card9.jpg\n";

/* One photo on its way; reason: why there is no view; unopened: that in words, where the file could
 * not even be opened. */
struct shot {
    const char *path;
    struct vision_photo *photo;
    enum vision_reason reason;
    const char *unopened;
    struct vision_card_view view;
};

struct batch {
    struct measure_words_given given;
    const char *output;
    bool json;
    struct shot *shots;
    size_t count;
    const struct vision_lens *known; /* after the first round */
    /* the shots that count, and their views side by side */
    size_t used[VISION_LENS_MAX_VIEWS];
    struct vision_card_view *views;
    int view_count;
    enum vision_lens_fault fault;
    struct vision_lens_fit fit;
};

/* ---- Photos to views ---------------------------------------------------------------------- */

static void open_all(struct batch *b)
{
    for (size_t i = 0; i < b->count; i++) {
        struct shot *shot = &b->shots[i];
        struct vision_result result = {.reason = VISION_REASON_NONE};
        shot->unopened = measure_photo_open(shot->path, &shot->photo, &result);
        shot->reason = result.reason;
    }
}

/* Photos of two cameras, lenses, zooms or sizes make no profile. */
static int check_alike(const struct batch *b)
{
    static const char *const words[][2] = {{"camera", "were taken with different cameras"},
                                           {"lens", "were taken with different lenses or zooms"},
                                           {"zoom", "were taken with different zooms"},
                                           {"size", "differ in size"}};
    const struct shot *first = NULL;
    for (size_t i = 0; i < b->count; i++) {
        const struct shot *shot = &b->shots[i];
        if (!shot->photo)
            continue;
        if (!first)
            first = shot;
        const char *differs = lens_profile_difference(vision_photo_get_info(first->photo),
                                                      vision_photo_get_info(shot->photo));
        for (size_t k = 0; differs && k < sizeof words / sizeof words[0]; k++)
            if (strcmp(differs, words[k][0]) == 0)
                return fail_unusable("\"%s\" and \"%s\" %s; a profile needs photos of one camera, "
                                     "one lens and one size, without zoom.",
                                     first->path, shot->path, words[k][1]);
    }
    return EXIT_DONE;
}

static void view_shot(void *context, size_t i)
{
    struct batch *b = context;
    struct shot *shot = &b->shots[i];
    struct vision_options options = b->given.options;
    options.lens = b->known;
    if (shot->photo)
        shot->reason = vision_card_view(shot->photo, &options, &shot->view);
}

static void next_shot(void *context, size_t i)
{
    (void)context;
    (void)i;
}

static void view_all(struct batch *b, const struct vision_lens *known)
{
    b->known = known;
    parallel_in_order(0, b->count, view_shot, next_shot, b);
    b->view_count = 0;
    for (size_t i = 0; i < b->count && b->view_count < VISION_LENS_MAX_VIEWS; i++)
        if (b->shots[i].reason == VISION_REASON_NONE) {
            b->used[b->view_count] = i;
            b->views[b->view_count++] = b->shots[i].view;
        }
}

static void fit(struct batch *b)
{
    b->fault = vision_lens_fit(b->views, b->view_count, &b->fit);
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* A photo that the lens of all others explains far worse than these: moved, or the card bent. One
 * at a time, and only while enough remain. */
static bool drop_odd_view(struct batch *b)
{
    const double far = 3, slight_px = 0.15;
    double sorted[VISION_LENS_MAX_VIEWS];
    int worst = 0, n = b->view_count;
    if (n <= VISION_LENS_LEAST_VIEWS ||
        (b->fault != VISION_LENS_FINE && b->fault != VISION_LENS_MISFIT))
        return false;
    for (int i = 0; i < n; i++) {
        sorted[i] = b->fit.views[i].held_out_px;
        if (sorted[i] > b->fit.views[worst].held_out_px)
            worst = i;
    }
    qsort(sorted, (size_t)n, sizeof *sorted, by_size);
    if (b->fit.views[worst].held_out_px < fmax(slight_px, far * sorted[n / 2]))
        return false;
    b->shots[b->used[worst]].reason = VISION_BENT_CARD;
    memmove(&b->views[worst], &b->views[worst + 1], (size_t)(n - 1 - worst) * sizeof *b->views);
    memmove(&b->used[worst], &b->used[worst + 1], (size_t)(n - 1 - worst) * sizeof *b->used);
    b->view_count--;
    return true;
}

/* Twice: with a first idea of the lens the sides of the markers are straight lines, and their
 * corners better. */
static void find_lens(struct batch *b)
{
    view_all(b, NULL);
    fit(b);
    if (b->fault == VISION_LENS_FINE) {
        struct vision_lens first = b->fit.lens;
        view_all(b, &first);
        b->known = NULL;
        fit(b);
    }
    while (drop_odd_view(b))
        fit(b);
}

/* ---- The answer --------------------------------------------------------------------------- */

static void tell_left_out(const struct batch *b)
{
    for (size_t i = 0; i < b->count; i++) {
        const struct shot *shot = &b->shots[i];
        if (shot->reason != VISION_REASON_NONE)
            message_note("%s is left out: %s", shot->path,
                         shot->unopened ? shot->unopened : reason_sentence(shot->reason));
    }
}

static void print_wishes(const struct lens_wishes *wishes, const char *head)
{
    if (wishes->count > 0)
        puts(head);
    for (int i = 0; i < wishes->count; i++)
        paragraph(stdout, "  - ", "%s", wishes->items[i]);
}

static void print_quality(const struct batch *b, const struct lens_profile *p)
{
    const struct vision_lens_fit *f = &b->fit;
    char worth[LENS_WORDS];
    lens_worth(f, worth);
    paragraph(stdout, "", "Lens profile of %s, from %d photos of %d x %d pixels.", p->lens.name,
              p->photos, p->lens.width_px, p->lens.height_px);
    paragraph(stdout, "  ", "%s", worth);
    paragraph(
        stdout, "  ",
        "With it the card's corners fit to %.2f pixels, and to %.2f in photos it was not made "
        "from; without it, to %.2f.",
        f->rms_px, f->held_out_px, f->plain_px);
    paragraph(stdout, "  ",
              "Focal length %.0f ± %.0f pixels, middle of the lens known to ± %.0f pixels; "
              "corners lay in %.0f %% of the picture.",
              f->lens.focal_px, fmax(1, ceil(2 * f->u_focal_px)), fmax(1, ceil(2 * f->u_centre_px)),
              100 * f->covered);
}

/* null for what vision_lens_fit() did not come to. */
static json_t *known(bool is, double value)
{
    return is ? answer_number(value) : json_null();
}

static bool has_lens(const struct batch *b)
{
    return b->fault == VISION_LENS_FINE || b->fault == VISION_LENS_UNCERTAIN ||
           b->fault == VISION_LENS_MISFIT;
}

static bool has_leans(const struct batch *b)
{
    return has_lens(b) || b->fault == VISION_LENS_PARALLEL ||
           (b->fault == VISION_LENS_FEW && b->fit.spread_deg > 0);
}

static json_t *views_json(const struct batch *b)
{
    const bool lens = has_lens(b), leans = has_leans(b);
    json_t *list = json_array();
    for (int i = 0; i < b->view_count; i++) {
        const struct vision_lens_view *view = &b->fit.views[i];
        char *name = clean_text(b->shots[b->used[i]].path);
        json_array_append_new(list, json_pack("{s:s, s:o, s:o, s:o, s:o, s:o}", "photo",
                                              name ? name : "", "rms_px", known(lens, view->rms_px),
                                              "held_out_px", known(lens, view->held_out_px),
                                              "lean_right_deg", known(leans, view->lean_right_deg),
                                              "lean_up_deg", known(leans, view->lean_up_deg),
                                              "removed_deg", known(lens, view->removed_deg)));
        free(name);
    }
    return list;
}

static int print_json(const struct batch *b, const struct lens_profile *p, const char *path,
                      const struct lens_wishes *wishes)
{
    const struct vision_lens_fit *f = &b->fit;
    const bool lens = has_lens(b);
    char message[LENS_WORDS];
    snprintf(message, sizeof message, "%s", lens_fault_sentence(b->fault));
    if (p)
        lens_worth(f, message);
    json_t *wanted = json_array();
    for (int i = 0; i < wishes->count; i++)
        json_array_append_new(wanted, json_string(wishes->items[i]));
    json_t *out = json_pack(
        "{s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "status",
        p ? "ok" : "failed", "message", message, "file", path ? answer_text(path) : json_null(),
        "profile", p ? lens_profile_to_json(p) : json_null(), "u_focal_px",
        known(lens, f->u_focal_px), "u_centre_px", known(lens, f->u_centre_px), "u_k1",
        known(lens, f->u_k1), "u_k2", known(lens, f->u_k2), "plain_px", known(lens, f->plain_px),
        "spread_deg", known(has_leans(b), f->spread_deg), "views", views_json(b), "wanted", wanted);
    return answer_print_json(out, JSON_COMPACT | JSON_REAL_PRECISION(8));
}

static int refuse(const struct batch *b, const struct lens_wishes *wishes)
{
    if (b->json) {
        int status = print_json(b, NULL, NULL, wishes);
        if (status != EXIT_DONE)
            return status;
    }
    int status = fail_unusable("%s", lens_fault_sentence(b->fault));
    if (!b->json)
        print_wishes(wishes, "Further photos needed:");
    return status;
}

/* ---- Keeping it --------------------------------------------------------------------------- */

/* Every folder on the way, private as the XDG specification asks. */
static bool make_folders(const char *path)
{
    char *copy = strdup(path);
    bool good = copy != NULL;
    for (char *slash = copy ? strchr(copy + 1, '/') : NULL; good && slash;
         slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        good = mkdir(copy, 0700) == 0 || errno == EEXIST;
        *slash = '/';
    }
    free(copy);
    return good;
}

static int choose_path(const struct batch *b, const struct lens_profile *p, char **out)
{
    if (b->output) {
        *out = strdup(b->output);
        return *out ? EXIT_DONE : fail_trouble("there is not enough memory.");
    }
    if (!*p->camera || !(p->focal_mm > 0))
        return fail_unusable("the photos do not say which camera and lens took them, so no photo "
                             "could be matched with the profile; name a file for it with -o, and "
                             "give that to --lens when measuring.");
    char *folder = lens_shelf_folder();
    *out = folder ? lens_shelf_path(folder, p) : NULL;
    free(folder);
    return *out ? EXIT_DONE
                : fail_trouble("there is no home folder to keep the profile in; name a file with "
                               "-o.");
}

static int keep(const struct batch *b, const struct lens_profile *p, const char *path)
{
    if ((!b->output && !make_folders(path)) || !lens_profile_write(path, p))
        return fail_unwritten(path, errno, "-o FILE");
    return EXIT_DONE;
}

static void print_answer(const struct batch *b, const struct lens_profile *p, const char *path,
                         const struct lens_wishes *wishes)
{
    char *word = shell_word(path);
    print_quality(b, p);
    if (b->output)
        printf("  It is in %s; measure with it: --lens %s\n", path, word ? word : path);
    else
        printf("  Photos of this camera are measured with it from now on. It is kept in\n  %s\n",
               path);
    free(word);
    print_wishes(wishes, "Photos that would make it better:");
}

static int answer(const struct batch *b)
{
    struct lens_wishes wishes;
    lens_wishes_make(b->views, b->view_count, b->fault, &b->fit, &wishes);
    if (b->fault != VISION_LENS_FINE)
        return refuse(b, &wishes);
    struct lens_profile profile;
    char *path = NULL;
    lens_profile_make(&b->views[0].photo, &b->fit, b->view_count, &profile);
    int status = choose_path(b, &profile, &path);
    if (status == EXIT_DONE)
        status = keep(b, &profile, path);
    if (status == EXIT_DONE && b->json)
        status = print_json(b, &profile, path, &wishes);
    else if (status == EXIT_DONE)
        print_answer(b, &profile, path, &wishes);
    free(path);
    return status;
}

static int run(struct batch *b)
{
    open_all(b);
    int status = check_alike(b);
    if (status != EXIT_DONE)
        return status;
    find_lens(b);
    tell_left_out(b);
    return answer(b);
}

/* ---- Words -------------------------------------------------------------------------------- */

static int start(struct batch *b, char **photos, int count)
{
    if (count < 1)
        return fail_usage("give the photos of the card, %d or more; \"armsquare lens --help\" says "
                          "how to take them.",
                          VISION_LENS_LEAST_VIEWS);
    if (count > VISION_LENS_MAX_VIEWS)
        return fail_usage("%d photos are too many; %d are plenty.", count, VISION_LENS_MAX_VIEWS);
    int status = refuse_same_photo(photos, (size_t)count, sizeof *photos);
    if (status != EXIT_DONE)
        return status;
    b->count = (size_t)count;
    b->shots = calloc(b->count, sizeof *b->shots);
    b->views = calloc(VISION_LENS_MAX_VIEWS, sizeof *b->views);
    if (!b->shots || !b->views)
        return fail_trouble("there is not enough memory.");
    for (size_t i = 0; i < b->count; i++)
        b->shots[i].path = photos[i];
    return run(b);
}

static void clear(struct batch *b)
{
    for (size_t i = 0; b->shots && i < b->count; i++)
        vision_photo_free(b->shots[i].photo);
    free(b->shots);
    free(b->views);
}

static int take_option(struct batch *b, int option, char **argv)
{
    switch (option) {
    case 'o':
        b->output = optarg;
        return option_output("-o FILE", optarg, ".json");
    case 'j':
        b->json = true;
        return EXIT_DONE;
    case MEASURE_BARS:
        return measure_options_take(&b->given, option, optarg);
    default:
        return usage_unknown_option("lens", option, argv);
    }
}

int cmd_lens(int argc, char **argv)
{
    static const struct option options[] = {{"output", required_argument, NULL, 'o'},
                                            {"bars", required_argument, NULL, MEASURE_BARS},
                                            {"json", no_argument, NULL, 'j'},
                                            {"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    struct batch batch = {.given = measure_options_start()};
    bool seen[sizeof options / sizeof *options] = {false};
    int option, index = 0, status = EXIT_DONE;
    opterr = 0;
    while (status == EXIT_DONE &&
           (option = getopt_long(argc, argv, ":o:h", options, &index)) != -1) {
        if (option == 'h')
            return answer_print_help(help);
        status = option_taken(options, option, &index, seen);
        if (status == EXIT_DONE)
            status = take_option(&batch, option, argv);
    }
    if (status == EXIT_DONE)
        status = start(&batch, argv + optind, argc - optind);
    clear(&batch);
    return status;
}
