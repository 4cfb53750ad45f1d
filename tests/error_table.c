/* error_table: measures every photo of a folder and compares with the truth beside it.
 *
 * A photo's headline error is that of its worst arm among those reported, against the card's x
 * axis, without any hint; for an arm that does not exist, the angle to the nearest that does.
 * Photos that also show an edge or a link to measure against are measured a second time with that
 * reference, counted apart. */
#include "parallel.h"
#include "truth_file.h"

#include <dirent.h>
#include <getopt.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What must hold on the photos kept aside. */
/* What a set must show. The guard is what has been reached, so that a step back shows; the goal is
 * where the work is going. docs/decisions.md, "How good it is". */
struct limits {
    const char *name;
    double answered, median_deg, p95_deg, coverage;
    bool refuse_all; /* an unmeasurable photo may not even be answered with a warning */
};

static const struct limits guard = {"guard", 0.66, 0.35, 0.9, 0.85, false};
static const struct limits goal = {"goal", 0.95, 0.10, 0.40, 0.90, true};

#define MAX_GROUPS 96
#define FAR_OFF_DEG 20 /* further from every true arm: not a badly measured arm but none at all */

struct outcome {
    struct truth truth;
    char path[600];
    struct vision_result result;
    double worst_deg, worst_u_deg; /* of the arm that is furthest off */
    int covered, compared;         /* arms within 2 u, arms with a counterpart */
    int invented, missed;
    bool silent_wrong;
    struct vision_result other; /* with the photo's own reference, if it has one */
    double other_worst_deg;
    bool other_silent_wrong;
    double corner_px; /* worst card corner against the truth; -1: no card */
};

struct options {
    const char *folder, *set, *guard, *goal;
    bool verbose, json;
};

/* ---- one photo ------------------------------------------------------------------------------ */

static double apart_deg(double a, double b)
{
    return fabs(remainder(a - b, 360));
}

/* Lines have no head: against an edge or link an arm's angle is the same 180 degrees on. */
static double apart_half_deg(double a, double b)
{
    return fabs(remainder(a - b, 180));
}

/* The closest pair first, each arm once. partner[i] is the true arm of reported arm i, or -1. */
static void match_arms(const struct truth *truth, const struct vision_result *result, int *partner)
{
    bool taken[VISION_MAX_ARMS] = {false};
    for (int i = 0; i < VISION_MAX_ARMS; i++)
        partner[i] = -1;
    for (;;) {
        double best = FAR_OFF_DEG;
        int found = -1, with = -1;
        for (int i = 0; i < result->arm_count; i++)
            for (int j = 0; j < truth->arm_count && partner[i] < 0; j++) {
                double apart = apart_deg(result->arms[i].angle_deg, truth->arms[j].angle_deg);
                if (!taken[j] && apart < best) {
                    best = apart;
                    found = i;
                    with = j;
                }
            }
        if (found < 0)
            return;
        partner[found] = with;
        taken[with] = true;
    }
}

static bool badly_wrong(double error_deg, double u_deg)
{
    return error_deg > fmax(1, 4 * u_deg);
}

static double nearest_arm_deg(const struct truth *truth, double angle_deg)
{
    double nearest = 180;
    for (int i = 0; i < truth->arm_count; i++)
        nearest = fmin(nearest, apart_deg(angle_deg, truth->arms[i].angle_deg));
    return nearest;
}

static void judge(struct outcome *o)
{
    int partner[VISION_MAX_ARMS] = {0};
    const struct vision_result *r = &o->result;
    if (r->status == VISION_FAILED)
        return;
    match_arms(&o->truth, r, partner);
    for (int i = 0; i < r->arm_count; i++) {
        const struct vision_arm *arm = &r->arms[i];
        bool real = partner[i] >= 0;
        double error = real ? apart_deg(arm->angle_deg, o->truth.arms[partner[i]].angle_deg)
                            : nearest_arm_deg(&o->truth, arm->angle_deg);
        o->invented += !real;
        o->compared += real;
        o->covered += real && error <= 2 * arm->u_deg;
        o->silent_wrong |= r->status == VISION_OK && (!real || badly_wrong(error, arm->u_deg));
        if (error >= o->worst_deg) {
            o->worst_deg = error;
            o->worst_u_deg = arm->u_deg;
        }
    }
    o->missed = o->truth.arm_count - o->compared;
}

static void judge_other(struct outcome *o)
{
    const struct vision_result *r = &o->other;
    for (int i = 0; i < r->arm_count && r->status != VISION_FAILED; i++) {
        double nearest = 180;
        for (int j = 0; j < o->truth.arm_count; j++)
            nearest =
                fmin(nearest, apart_half_deg(r->arms[i].angle_deg,
                                             o->truth.arms[j].angle_deg - o->truth.reference_deg));
        o->other_worst_deg = fmax(o->other_worst_deg, nearest);
        o->other_silent_wrong |= r->status == VISION_OK && badly_wrong(nearest, r->arms[i].u_deg);
    }
}

static double corner_error_px(const struct outcome *o)
{
    double worst = o->result.card ? 0 : -1;
    for (int i = 0; i < 4 && o->result.card; i++)
        worst = fmax(worst, hypot(o->result.corners_px[i].x - o->truth.corners_px[i].x,
                                  o->result.corners_px[i].y - o->truth.corners_px[i].y));
    return worst;
}

static void measure_one(void *context, size_t i)
{
    struct outcome *o = &((struct outcome *)context)[i];
    struct vision_options options = vision_options_default();
    struct vision_photo *photo;
    enum vision_reason reason = vision_photo_open(o->path, &photo);
    if (reason != VISION_REASON_NONE) {
        o->result = o->other = (struct vision_result){.status = VISION_FAILED, .reason = reason};
        o->corner_px = -1;
        return;
    }
    vision_measure(photo, &options, &o->result);
    if (o->truth.reference != VISION_REFERENCE_CARD) {
        options.reference = o->truth.reference;
        memcpy(options.hint_px, o->truth.hint_px, sizeof options.hint_px);
        vision_measure(photo, &options, &o->other);
        judge_other(o);
    }
    vision_photo_free(photo);
    judge(o);
    o->corner_px = corner_error_px(o);
}

/* ---- groups --------------------------------------------------------------------------------- */

struct group {
    char name[40];
    int measurable, ok, unsure, arms, covered, missed, invented, silent_wrong;
    int negatives, refused, right_reason, false_ok;
    double *errors_deg, *us_deg; /* one per photo with status ok */
    double median_deg, p95_deg, max_deg, median_u_deg;
};

static const char *reason_of(const struct vision_result *result)
{
    const char *code = vision_reason_code(result->reason);
    return code ? code : "-";
}

static void count(struct group *g, const struct outcome *o)
{
    enum vision_status status = o->result.status;
    if (!o->truth.measurable) {
        bool right = truth_allows_reason(&o->truth, vision_reason_code(o->result.reason));
        g->negatives++;
        /* With too few markers a number marked unsure is as honest as none. */
        g->refused += status == VISION_FAILED || (status == VISION_UNSURE && right);
        g->right_reason += status != VISION_OK && right;
        g->false_ok += status == VISION_OK;
        return;
    }
    g->measurable++;
    g->unsure += status == VISION_UNSURE;
    g->silent_wrong += o->silent_wrong;
    if (status != VISION_OK)
        return;
    g->errors_deg[g->ok] = o->worst_deg;
    g->us_deg[g->ok] = o->worst_u_deg;
    g->ok++;
    g->arms += o->compared;
    g->covered += o->covered;
    g->missed += o->missed;
    g->invented += o->invented;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* Smallest value that at least this share of the sorted values does not exceed. */
static double quantile(const double *sorted, int n, double share)
{
    int i = (int)ceil(share * n) - 1;
    return n == 0 ? 0 : sorted[i < 0 ? 0 : i];
}

static void summarise(struct group *g)
{
    qsort(g->errors_deg, (size_t)g->ok, sizeof *g->errors_deg, by_size);
    qsort(g->us_deg, (size_t)g->ok, sizeof *g->us_deg, by_size);
    g->median_deg = quantile(g->errors_deg, g->ok, 0.5);
    g->p95_deg = quantile(g->errors_deg, g->ok, 0.95);
    g->max_deg = quantile(g->errors_deg, g->ok, 1);
    g->median_u_deg = quantile(g->us_deg, g->ok, 0.5);
}

static bool in_group(const struct outcome *o, const char *name)
{
    const struct truth *t = &o->truth;
    if (strcmp(name, "all") == 0)
        return true;
    if (strncmp(name, "set:", 4) == 0)
        return strcmp(t->set, name + 4) == 0;
    if (strncmp(name, "card:", 5) == 0)
        return strcmp(t->card, name + 5) == 0;
    if (strcmp(name, "view:below-18-deg") == 0)
        return t->obliquity_deg < 18;
    if (strcmp(name, "view:18-deg-and-more") == 0)
        return t->obliquity_deg >= 18;
    if (strcmp(name, "size:12-megapixel") == 0)
        return t->width_px + t->height_px > 5000;
    if (strcmp(name, "size:below-8-px-per-mm") == 0)
        return t->px_per_mm < 8;
    if (strcmp(name, "exif:turned") == 0)
        return t->orientation != 1;
    return truth_has_tag(t, name);
}

struct table {
    const struct outcome *outcomes;
    size_t count;
    struct group groups[MAX_GROUPS];
    int group_count;
};

static bool add_group(struct table *table, const char *name)
{
    for (int i = 0; i < table->group_count; i++)
        if (strcmp(table->groups[i].name, name) == 0)
            return true;
    if (table->group_count == MAX_GROUPS)
        return false;
    struct group *g = &table->groups[table->group_count++];
    snprintf(g->name, sizeof g->name, "%s", name);
    g->errors_deg = calloc(table->count, sizeof *g->errors_deg);
    g->us_deg = calloc(table->count, sizeof *g->us_deg);
    if (!g->errors_deg || !g->us_deg)
        return false;
    for (size_t i = 0; i < table->count; i++)
        if (in_group(&table->outcomes[i], name))
            count(g, &table->outcomes[i]);
    summarise(g);
    return true;
}

static bool add_causes(struct table *table, const char *prefix)
{
    for (size_t i = 0; i < table->count; i++) {
        const struct truth *t = &table->outcomes[i].truth;
        for (int k = 0; k < t->tag_count && t->measurable; k++) {
            bool plain = strchr(t->tags[k], ':') == NULL;
            bool wanted = *prefix ? strncmp(t->tags[k], prefix, strlen(prefix)) == 0 : plain;
            if (wanted && !add_group(table, t->tags[k]))
                return false;
        }
        char card[40];
        snprintf(card, sizeof card, "card:%s", t->card);
        if (strcmp(prefix, "card:") == 0 && t->measurable && !add_group(table, card))
            return false;
    }
    return true;
}

static bool fill_table(struct table *table)
{
    static const char *const fixed[] = {"all",
                                        "set:tune",
                                        "set:kept",
                                        "view:below-18-deg",
                                        "view:18-deg-and-more",
                                        "size:12-megapixel",
                                        "size:below-8-px-per-mm",
                                        "exif:turned"};
    static const char *const prefixes[] = {"design:", "finish:", "light:", "card:", ""};
    for (size_t i = 0; i < sizeof fixed / sizeof fixed[0]; i++)
        if (!add_group(table, fixed[i]))
            return false;
    for (size_t i = 0; i < sizeof prefixes / sizeof prefixes[0]; i++)
        if (!add_causes(table, prefixes[i]))
            return false;
    return true;
}

static void clear_table(struct table *table)
{
    for (int i = 0; i < table->group_count; i++) {
        free(table->groups[i].errors_deg);
        free(table->groups[i].us_deg);
    }
}

/* ---- printing ------------------------------------------------------------------------------- */

static const char *status_word(enum vision_status status)
{
    return status == VISION_OK ? "ok" : status == VISION_UNSURE ? "unsure" : "failed";
}

static double share(int part, int whole)
{
    return whole ? (double)part / whole : 0;
}

static void print_photo(const struct outcome *o)
{
    const struct vision_result *r = &o->result;
    printf("%-36s %-6s %-14s", o->truth.photo, status_word(r->status), reason_of(r));
    if (r->status != VISION_FAILED && r->arm_count)
        printf(" err %7.3f u %6.3f", o->worst_deg, o->worst_u_deg);
    else
        printf(" %20s", "");
    printf(" arms %d/%d", o->compared, o->truth.arm_count);
    if (o->invented)
        printf(" +%d invented", o->invented);
    if (o->corner_px >= 0)
        printf(" corner %.2f px", o->corner_px);
    if (o->silent_wrong)
        printf(" SILENT-WRONG");
    if (!o->truth.measurable && r->status == VISION_OK)
        printf(" FALSE-OK");
    for (int i = 0; i < o->truth.tag_count; i++)
        printf("%s%s", i ? "," : "  ", o->truth.tags[i]);
    putchar('\n');
}

static void print_other(const struct outcome *o)
{
    if (o->truth.reference == VISION_REFERENCE_CARD)
        return;
    printf("%-36s %-6s %-14s err %7.3f  against its %s%s\n", o->truth.photo,
           status_word(o->other.status), reason_of(&o->other), o->other_worst_deg,
           o->truth.reference == VISION_REFERENCE_EDGE ? "edge" : "link",
           o->other_silent_wrong ? " SILENT-WRONG" : "");
}

static void print_group(const struct group *g)
{
    if (g->measurable)
        printf("%-24s %4d %5.0f%% %5.0f%% %7.3f %7.3f %7.3f %5.0f%% %7.3f %6d %6d %8d\n", g->name,
               g->measurable, 100 * share(g->ok, g->measurable),
               100 * share(g->unsure, g->measurable), g->median_deg, g->p95_deg, g->max_deg,
               100 * share(g->covered, g->arms), g->median_u_deg, g->silent_wrong, g->missed,
               g->invented);
}

static void print_negatives(const struct group *g)
{
    if (g->negatives)
        printf("%-24s %4d unmeasurable: %d refused (%d for a right reason), %d false ok\n", g->name,
               g->negatives, g->refused, g->right_reason, g->false_ok);
}

static void print_others(const struct outcome *outcomes, size_t n, enum vision_reference_kind kind,
                         const char *name)
{
    double worst = 0;
    int total = 0, ok = 0, wrong = 0;
    for (size_t i = 0; i < n; i++) {
        if (outcomes[i].truth.reference != kind)
            continue;
        total++;
        wrong += outcomes[i].other_silent_wrong;
        if (outcomes[i].other.status != VISION_OK)
            continue;
        ok++;
        worst = fmax(worst, outcomes[i].other_worst_deg);
    }
    if (total)
        printf("against a %s: %d photos, %d ok, worst %.3f deg, %d silent wrong\n", name, total, ok,
               worst, wrong);
}

static void print_table(const struct table *table)
{
    printf("%-24s %4s %6s %6s %7s %7s %7s %6s %7s %6s %6s %8s\n", "group", "n", "ok", "unsure",
           "median", "p95", "max", "in 2u", "med. u", "silent", "missed", "invented");
    for (int i = 0; i < table->group_count; i++)
        print_group(&table->groups[i]);
    putchar('\n');
    for (int i = 0; i < 3; i++)
        print_negatives(&table->groups[i]);
    print_others(table->outcomes, table->count, VISION_REFERENCE_EDGE, "case edge");
    print_others(table->outcomes, table->count, VISION_REFERENCE_LINK, "link");
}

static json_t *group_json(const struct group *g)
{
    return json_pack("{s:s, s:i, s:i, s:i, s:f, s:f, s:f, s:f, s:f, s:i, s:i, s:i, s:i, s:i, s:i, "
                     "s:i}",
                     "group", g->name, "measurable", g->measurable, "ok", g->ok, "unsure",
                     g->unsure, "median_deg", g->median_deg, "p95_deg", g->p95_deg, "max_deg",
                     g->max_deg, "covered_share", share(g->covered, g->arms), "median_u_deg",
                     g->median_u_deg, "silent_wrong", g->silent_wrong, "missed_arms", g->missed,
                     "invented_arms", g->invented, "unmeasurable", g->negatives, "refused",
                     g->refused, "right_reason", g->right_reason, "false_ok", g->false_ok);
}

static void print_json(const struct table *table)
{
    json_t *groups = json_array();
    for (int i = 0; i < table->group_count; i++)
        json_array_append_new(groups, group_json(&table->groups[i]));
    json_dumpf(groups, stdout, JSON_INDENT(1) | JSON_REAL_PRECISION(6));
    putchar('\n');
    json_decref(groups);
}

/* ---- what must hold ------------------------------------------------------------------------- */

static bool require(bool holds, const char *set, const struct limits *limits, const char *what)
{
    if (!holds)
        fprintf(stderr, "error_table: set \"%s\", %s: %s\n", set, limits->name, what);
    return holds;
}

static bool limits_hold(struct table *table, const char *set, const struct limits *l)
{
    char name[40];
    snprintf(name, sizeof name, "set:%s", set);
    const struct group *g = NULL;
    for (int i = 0; i < table->group_count; i++)
        if (strcmp(table->groups[i].name, name) == 0)
            g = &table->groups[i];
    if (!require(g && g->measurable + g->negatives > 0, set, l, "no such photos"))
        return false;
    bool all = require(share(g->ok, g->measurable) >= l->answered, set, l, "too few answered");
    all &= require(g->median_deg <= l->median_deg, set, l, "median error too large");
    all &= require(g->p95_deg <= l->p95_deg, set, l, "95th percentile of errors too large");
    all &= require(g->silent_wrong == 0, set, l, "a wrong number with status ok");
    all &= require(g->false_ok == 0, set, l, "an unmeasurable photo with status ok");
    all &= require(!l->refuse_all || g->refused == g->negatives, set, l,
                   "an unmeasurable photo not refused");
    all &= require(share(g->covered, g->arms) >= l->coverage, set, l, "2 u covers too few");
    return all;
}

/* ---- the folder ----------------------------------------------------------------------------- */

static int is_truth(const struct dirent *entry)
{
    size_t n = strlen(entry->d_name);
    return n > 5 && strcmp(entry->d_name + n - 5, ".json") == 0;
}

static bool wanted(const struct truth *truth, const struct options *options)
{
    return strcmp(options->set, "all") == 0 || strcmp(options->set, truth->set) == 0;
}

/* Every photo of the wanted set, by name. NULL when the folder or a truth cannot be read. */
static struct outcome *read_folder(const struct options *options, size_t *count_out)
{
    struct dirent **names;
    int n = scandir(options->folder, &names, is_truth, alphasort);
    struct outcome *outcomes = n > 0 ? calloc((size_t)n, sizeof *outcomes) : NULL;
    bool good = outcomes != NULL;
    *count_out = 0;
    for (int i = 0; i < n; i++) {
        char path[600];
        struct outcome *o = outcomes ? &outcomes[*count_out] : NULL;
        snprintf(path, sizeof path, "%s/%s", options->folder, names[i]->d_name);
        if (good && !truth_read(path, &o->truth)) {
            fprintf(stderr, "error_table: %s is no truth file\n", path);
            good = false;
        }
        if (good && wanted(&o->truth, options)) {
            snprintf(o->path, sizeof o->path, "%s/%s", options->folder, o->truth.photo);
            ++*count_out;
        }
        free(names[i]);
    }
    if (n >= 0)
        free(names);
    if (good)
        return outcomes;
    free(outcomes);
    return NULL;
}

static void nothing_more(void *context, size_t i)
{
    (void)context;
    (void)i;
}

static void print_help(FILE *to)
{
    fputs("error_table - measured angles against the truth\n\n"
          "usage: error_table [OPTIONS] FOLDER\n\n"
          "  --set NAME      only tune, kept, fresh (default: all)\n"
          "  --verbose       a line for every photo\n"
          "  --json          the groups as JSON\n"
          "  --guard NAME    exit 1 when this set is worse than what has been reached\n"
          "  --goal NAME     exit 1 until this set meets the goal\n\n"
          "example: error_table --verbose --set tune testimages\n",
          to);
}

static bool read_options(int argc, char **argv, struct options *options)
{
    static const struct option longs[] = {
        {"set", 1, 0, 's'},  {"verbose", 0, 0, 'v'}, {"json", 0, 0, 'j'}, {"guard", 1, 0, 'g'},
        {"goal", 1, 0, 'G'}, {"help", 0, 0, 'h'},    {0, 0, 0, 0}};
    int word;
    *options = (struct options){.set = "all"};
    while ((word = getopt_long(argc, argv, "", longs, NULL)) != -1) {
        if (word == 's')
            options->set = optarg;
        else if (word == 'v')
            options->verbose = true;
        else if (word == 'j')
            options->json = true;
        else if (word == 'g')
            options->guard = optarg;
        else if (word == 'G')
            options->goal = optarg;
        else {
            print_help(word == 'h' ? stdout : stderr);
            exit(word == 'h' ? 0 : 2);
        }
    }
    if (argc - optind != 1)
        return false;
    options->folder = argv[optind];
    return true;
}

int main(int argc, char **argv)
{
    struct options options;
    static struct table table;
    if (!read_options(argc, argv, &options)) {
        print_help(stderr);
        return 2;
    }
    struct outcome *outcomes = read_folder(&options, &table.count);
    if (!outcomes || table.count == 0) {
        fprintf(stderr, "error_table: no photos with truth in %s\n", options.folder);
        free(outcomes);
        return 3;
    }
    parallel_in_order(table.count, measure_one, nothing_more, outcomes);
    for (size_t i = 0; i < table.count && options.verbose; i++) {
        print_photo(&outcomes[i]);
        print_other(&outcomes[i]);
    }
    table.outcomes = outcomes;
    bool good = fill_table(&table);
    if (options.json)
        print_json(&table);
    else
        print_table(&table);
    if (options.guard)
        good = limits_hold(&table, options.guard, &guard) && good;
    if (options.goal)
        good = limits_hold(&table, options.goal, &goal) && good;
    clear_table(&table);
    free(outcomes);
    return good ? 0 : 1;
}
