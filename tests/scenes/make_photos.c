/* make_photos: ray-traced photos of horns and cranks in front of the card, each with its truth. */
#include "card_picture.h"
#include "case.h"
#include "check.h"
#include "develop.h"
#include "scene.h"
#include "truth.h"

#include <errno.h>
#include <fcntl.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define CARD_DPI 800
/* What --check grants: the renderer's antialiasing knows an edge to an eighth of a pixel. */
#define MAX_POINT_PX 0.1
#define MAX_ARM_SHIFT_PX 0.15

struct request {
    struct set_options set;
    const char *out_dir, *work_dir;
    int first, count, jobs;
    const char *only; /* part of a name; NULL: all */
    bool again, keep, list, check, truth;
    int shrink; /* so many times smaller */
};

static void print_help(FILE *to)
{
    fputs(
        "make_photos - ray-traced photos of horns before the card, with their truth\n\n"
        "usage: make_photos [OPTIONS] DIR            the standing set\n"
        "       make_photos --fresh SEED COUNT DIR   photos nobody has seen\n"
        "       make_photos --stickers SEED COUNT DIR   series of hidden cranks\n"
        "       make_photos --butted SEED COUNT DIR     horns that reach over the butt edge\n\n"
        "  --hard          with --fresh: more of what is hard to see\n"
        "  --lens          with --fresh: all by one camera whose lens bends, the first nine of\n"
        "                  the card alone, for a lens profile\n"
        "  --second        with --fresh: like the second part of the set (from 81 on)\n"
        "  --large         with --fresh or --butted: of 12 megapixels, as phones take them\n"
        "  --stickers      series of three photos of a crank told by its sticker: at one end, at\n"
        "                  the other, at neutral\n"
        "  --butted        series of horns on a servo beside the card, the butt edge against\n"
        "                  its case, an arm reaching over that edge\n"
        "  --half          half the size\n"
        "  --tint NAME     card tint for every photo: duo, green, pink\n"
        "  --only TEXT     only photos whose name contains TEXT\n"
        "  --again         also photos that are already there\n"
        "  --work DIR      where scenes and renders go (default: DIR/.work)\n"
        "  --keep          keep scenes and renders\n"
        "  --jobs N        photos at a time (default: one per core)\n"
        "  --check         make no photo: render known points and silhouettes of each scene and\n"
        "                  compare them with the truth; exit 1 beyond 0.1 px for\n"
        "                  a point or 0.15 px along an arm's edges\n"
        "  --truth         write the truth files alone\n"
        "  --preview       quarter size, to look at while designing\n"
        "  --list          print the names and stop\n\n"
        "example: make_photos --tint green --only cross /tmp/green\n",
        to);
}

/* Runs a program found on the PATH, all it says going to a file. */
static bool run_program(char *const *words, const char *log)
{
    pid_t child = fork();
    if (child == 0) {
        int to = open(log, O_WRONLY | O_CREAT | O_TRUNC, 0666);
        if (to >= 0) {
            dup2(to, 1);
            dup2(to, 2);
        }
        execvp(words[0], words);
        _exit(127);
    }
    int status = 0;
    return child > 0 && waitpid(child, &status, 0) == child && WIFEXITED(status) &&
           WEXITSTATUS(status) == 0;
}

/* Runs POV-Ray on a scene; its messages go to a log beside the render. Antialiasing works in
 * linear light (Antialias_Gamma 1), else edges move towards the dark side. In photos its samples
 * are jittered: a fixed grid leaves steps of a fraction of a pixel along edges near the pixel
 * rows, which look like a turn of the edge. `fine` takes more samples, unjittered. */
static bool render(const struct photo_case *c, bool fine, const char *scene, const char *png,
                   const char *log)
{
    char in[700], out[700], w[32], h[32], library[] = "+L" SCENES_DIR;
    int margin = scene_margin_px(c);
    /* In a picture full of weave or brushed metal every pixel takes its samples. */
    bool slow = c->quick || c->camera.width_px + c->camera.height_px > 5000;
    char *depth = slow ? "+R1" : "+R2";
    snprintf(in, sizeof in, "+I%s", scene);
    snprintf(out, sizeof out, "+O%s", png);
    snprintf(w, sizeof w, "+W%d", c->camera.width_px + 2 * margin);
    snprintf(h, sizeof h, "+H%d", c->camera.height_px + 2 * margin);
    char *const words[] = {"povray",
                           in,
                           out,
                           w,
                           h,
                           library,
                           "+FN16",
                           "File_Gamma=1.0",
                           "Antialias_Gamma=1.0",
                           "+A0.1",
                           "+AM2",
                           fine ? "+R3" : depth,
                           fine ? "-J" : "+J1.0",
                           "-D",
                           "+WT1",
                           "-GA",
                           NULL};
    return run_program(words, log);
}

static bool complain(const char *what, const struct photo_case *c, const char *hint)
{
    fprintf(stderr, "make_photos: %s: cannot %s (%s)\n", c->name, what, hint);
    return false;
}

static bool make_pictures(const struct photo_case *c, double dpi, const char *card_png,
                          const char *other_png)
{
    struct card_print print = {.black = c->ink_black, .fade = c->ink_fade};
    memcpy(print.tone, c->ink_tone, sizeof print.tone);
    if (c->crank.fixed ? !sticker_picture_write(c->crank.fixed, &print, dpi, card_png)
                       : !card_picture_write(c->card, &print, dpi, card_png))
        return false;
    if (c->crank.sticker)
        return sticker_picture_write(c->crank.sticker, &print, dpi, other_png);
    return c->negative != NEGATIVE_MIXED_CARDS ||
           card_picture_write(vision_card_by_name("frame-duo"), &print, dpi, other_png);
}

static bool make_photo(const struct photo_case *c, const struct request *request)
{
    enum { CARD, OTHER, SCENE, RENDER, LOG, FILES };
    static const char *const endings[FILES] = {"card.png", "other.png", "pov", "render.png", "log"};
    char paths[FILES][600], photo[600], truth[600];
    for (int i = 0; i < FILES; i++)
        snprintf(paths[i], sizeof paths[i], "%s/%s.%s", request->work_dir, c->name, endings[i]);
    snprintf(photo, sizeof photo, "%s/%s.jpg", request->out_dir, c->name);
    snprintf(truth, sizeof truth, "%s/%s.json", request->out_dir, c->name);
    if (request->truth)
        return truth_write(c, truth) || complain("write the truth", c, strerror(errno));
    if (!request->again && access(photo, R_OK) == 0 && access(truth, R_OK) == 0)
        return true;
    if (!make_pictures(c, (double)CARD_DPI / request->shrink, paths[CARD], paths[OTHER]))
        return complain("write the card's picture", c, strerror(errno));
    if (!scene_write(c, paths[SCENE], paths[CARD], paths[OTHER]))
        return complain("write the scene", c, strerror(errno));
    if (!render(c, false, paths[SCENE], paths[RENDER], paths[LOG]))
        return complain("render; is povray installed?", c, paths[LOG]);
    if (!develop_photo(c, paths[RENDER], photo))
        return complain("develop the photo", c, strerror(errno));
    if (!truth_write(c, truth))
        return complain("write the truth", c, strerror(errno));
    for (int i = 0; i < FILES && !request->keep; i++)
        unlink(paths[i]);
    return true;
}

static bool check_photo(const struct photo_case *c, const struct request *request)
{
    struct check_result r;
    if (!check_case(c, request->work_dir, render, &r))
        return complain("render the check", c, request->work_dir);
    bool good = r.worst_px <= MAX_POINT_PX && r.worst_arm_px <= MAX_ARM_SHIFT_PX && r.beads > 0;
    printf("%-36s %2d points, worst %.3f px   %d arms, worst %.3f deg, %.3f px%s\n", c->name,
           r.beads, r.worst_px, r.arms, r.worst_arm_deg, r.worst_arm_px, good ? "" : "   WRONG");
    fflush(stdout);
    return good;
}

/* Takes one finished child into account. */
static void reap(int *running, int *failed)
{
    int status;
    if (wait(&status) < 0)
        return;
    --*running;
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
        ++*failed;
}

/* The same scene so many times smaller. */
static void shrink(struct photo_case *c, int by)
{
    c->camera.width_px /= by;
    c->camera.height_px /= by;
    c->camera.focal_px /= by;
    c->defocus_px /= by;
    c->motion_px /= by;
    c->depth_blur_px /= by;
    for (int i = 0; i < 2; i++) {
        c->hint_px[i].x /= by;
        c->hint_px[i].y /= by;
    }
}

static int make_all(const struct request *request)
{
    int running = 0, failed = 0;
    static struct photo_case c;
    for (int i = request->first; i < request->first + request->count; i++) {
        case_draw(&c, i, &request->set);
        shrink(&c, request->shrink);
        if (request->only && !strstr(c.name, request->only))
            continue;
        if (request->list) {
            puts(c.name);
            continue;
        }
        if (running >= request->jobs)
            reap(&running, &failed);
        fprintf(stderr, "%s\n", c.name);
        pid_t child = fork();
        if (child == 0)
            _exit((request->check ? check_photo : make_photo)(&c, request) ? 0 : 1);
        running += child > 0;
        failed += child < 0;
    }
    while (running > 0)
        reap(&running, &failed);
    return failed;
}

static bool read_options(int argc, char **argv, struct request *request)
{
    enum {
        FRESH = 1000,
        HARD,
        LENS,
        LARGE,
        STICKERS,
        BUTTED,
        SECOND,
        TINT,
        ONLY,
        AGAIN,
        WORK,
        KEEP,
        JOBS,
        LIST,
        CHECK,
        TRUTH,
        HALF,
        PREVIEW,
        HELP
    };
    static const struct option longs[] = {{"fresh", 0, 0, FRESH},     {"hard", 0, 0, HARD},
                                          {"second", 0, 0, SECOND},   {"lens", 0, 0, LENS},
                                          {"large", 0, 0, LARGE},     {"tint", 1, 0, TINT},
                                          {"only", 1, 0, ONLY},       {"again", 0, 0, AGAIN},
                                          {"work", 1, 0, WORK},       {"keep", 0, 0, KEEP},
                                          {"jobs", 1, 0, JOBS},       {"list", 0, 0, LIST},
                                          {"check", 0, 0, CHECK},     {"truth", 0, 0, TRUTH},
                                          {"preview", 0, 0, PREVIEW}, {"stickers", 0, 0, STICKERS},
                                          {"butted", 0, 0, BUTTED},   {"half", 0, 0, HALF},
                                          {"help", 0, 0, HELP},       {0, 0, 0, 0}};
    int word;
    while ((word = getopt_long(argc, argv, "", longs, NULL)) != -1) {
        switch (word) {
        case FRESH:
            request->set.fresh = true;
            break;
        case HARD:
            request->set.hard = true;
            break;
        case LENS:
            request->set.lens = true;
            break;
        case STICKERS:
            request->set.stickers = true;
            break;
        case BUTTED:
            request->set.butted = true;
            break;
        case SECOND:
            request->set.second = true;
            break;
        case LARGE:
            request->set.large = true;
            break;
        case TINT:
            request->set.tint = optarg;
            break;
        case ONLY:
            request->only = optarg;
            break;
        case AGAIN:
            request->again = true;
            break;
        case WORK:
            request->work_dir = optarg;
            break;
        case KEEP:
            request->keep = true;
            break;
        case JOBS:
            request->jobs = (int)strtol(optarg, NULL, 10);
            break;
        case LIST:
            request->list = true;
            break;
        case CHECK:
            request->check = true;
            break;
        case TRUTH:
            request->truth = true;
            break;
        case PREVIEW:
            request->shrink = 4;
            break;
        case HALF:
            request->shrink = 2;
            break;
        case HELP:
            print_help(stdout);
            exit(0);
        default:
            return false;
        }
    }
    bool seeded = request->set.fresh || request->set.stickers || request->set.butted;
    if (seeded && argc - optind == 3) {
        request->set.seed = strtoull(argv[optind], NULL, 10);
        request->count =
            (int)strtol(argv[optind + 1], NULL, 10) * (request->set.stickers ? CRANK_SHOTS : 1);
        optind += 2;
    } else {
        request->set.seed = 2;
        request->count = case_set_size();
    }
    if (argc - optind != 1 || request->jobs < 1 || request->count < 1)
        return false;
    request->out_dir = argv[optind];
    return true;
}

int main(int argc, char **argv)
{
    struct request request = {.jobs = (int)sysconf(_SC_NPROCESSORS_ONLN), .shrink = 1};
    char work[500];
    if (!read_options(argc, argv, &request)) {
        print_help(stderr);
        return 2;
    }
    if (request.set.tint) {
        snprintf(work, sizeof work, "hand-%s", request.set.tint);
        if (!vision_card_by_name(work)) {
            fprintf(stderr, "make_photos: there is no card tint \"%s\"; see --help.\n",
                    request.set.tint);
            return 2;
        }
    }
    snprintf(work, sizeof work, "%s/.work", request.out_dir);
    if (!request.work_dir)
        request.work_dir = work;
    if (!request.list)
        (void)(mkdir(request.out_dir, 0777), mkdir(request.work_dir, 0777));
    int failed = make_all(&request);
    (void)rmdir(request.work_dir); /* stays when scenes are kept in it */
    if (failed)
        fprintf(stderr, "make_photos: %d photos failed.\n", failed);
    return failed ? 1 : 0;
}
