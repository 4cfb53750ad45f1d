/* error_table: measures every photo of a folder and compares with the truth beside it. */
#include "cause_table.h"
#include "error_plots.h"
#include "photo_set.h"
#include "spread.h"

#include <getopt.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What a set must show. The guards are what has been reached less a little, so that a step back
 * shows; the goal is where the work is going. docs/accuracy.md. */
struct limits {
    const char *name;
    double answered, median_deg, p95_deg, coverage;
    bool refuse_all; /* an unmeasurable photo may not even be answered with a warning */
};

static const struct limits tune_guard = {"guard", 0.89, 0.17, 0.65, 0.95, false};
static const struct limits kept_guard = {"guard", 0.85, 0.16, 0.65, 0.95, false};
static const struct limits goal = {"goal", 0.95, 0.10, 0.40, 0.90, true};

#define MAX_GROUPS 192
struct options {
    const char *folder, *set, *guard, *goal, *pictures;
    bool verbose, json, causes, true_lens, pointed;
};

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

static void summarise(struct group *g)
{
    spread_sort(g->errors_deg, (size_t)g->ok);
    spread_sort(g->us_deg, (size_t)g->ok);
    g->median_deg = spread_quantile(g->errors_deg, (size_t)g->ok, 0.5);
    g->p95_deg = spread_quantile(g->errors_deg, (size_t)g->ok, 0.95);
    g->max_deg = spread_quantile(g->errors_deg, (size_t)g->ok, 1);
    g->median_u_deg = spread_quantile(g->us_deg, (size_t)g->ok, 0.5);
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

/* Every arm, pointed at. */
struct pointed_group {
    int arms, ok, unsure, in_2u, silent_wrong;
    double *errors_deg; /* of those with status ok */
};

static bool gather_pointed(const struct table *table, struct pointed_group *out)
{
    *out = (struct pointed_group){
        .errors_deg = calloc(table->count * VISION_MAX_ARMS, sizeof *out->errors_deg)};
    for (size_t i = 0; i < table->count && out->errors_deg; i++)
        for (int k = 0; k < table->outcomes[i].truth.arm_count && table->outcomes[i].point; k++) {
            const struct pointed_outcome *p = &table->outcomes[i].pointed[k];
            out->arms++;
            out->unsure += p->status == VISION_UNSURE;
            out->silent_wrong += p->silent_wrong;
            if (p->status != VISION_OK)
                continue;
            out->in_2u += p->error_deg <= 2 * p->u_deg;
            out->errors_deg[out->ok++] = p->error_deg;
        }
    spread_sort(out->errors_deg, (size_t)out->ok);
    return out->errors_deg != NULL;
}

static void print_pointed(const struct pointed_group *g)
{
    const size_t n = (size_t)g->ok;
    printf(
        "\npointed at, arm by arm: %d arms, %.0f %% ok, %.0f %% unsure; of those ok median %.3f, "
        "p95 %.3f, max %.3f deg, %.0f %% in 2u, %d silent wrong\n",
        g->arms, 100 * share(g->ok, g->arms), 100 * share(g->unsure, g->arms),
        spread_quantile(g->errors_deg, n, 0.5), spread_quantile(g->errors_deg, n, 0.95),
        spread_quantile(g->errors_deg, n, 1), 100 * share(g->in_2u, g->ok), g->silent_wrong);
}

static void print_pointed_arms(const struct outcome *o)
{
    for (int k = 0; k < o->truth.arm_count && o->point; k++)
        printf("%-36s %-6s err %7.3f u %6.3f  pointed at its arm at %.1f%s\n", o->truth.photo,
               status_word(o->pointed[k].status), o->pointed[k].error_deg, o->pointed[k].u_deg,
               o->truth.arms[k].angle_deg, o->pointed[k].silent_wrong ? " SILENT-WRONG" : "");
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

/* A person who points at hub and tip gets a number, and never a wrong one for a sure one. */
static bool show_pointed(const struct table *table, const struct options *options)
{
    const double sure = 0.78;
    struct pointed_group g;
    if (!options->pointed)
        return true;
    bool good = gather_pointed(table, &g);
    if (good && !options->json)
        print_pointed(&g);
    if (good && options->guard) {
        const struct limits *l = &tune_guard;
        good = require(g.ok >= sure * g.arms, options->guard, l, "too few pointed at are sure");
        good &= require(g.ok + g.unsure == g.arms, options->guard, l, "pointed at, but no number");
        good &= require(g.silent_wrong == 0, options->guard, l, "pointed at, and a wrong number");
    }
    free(g.errors_deg);
    return good;
}

/* One set, or "all" for both. */
static bool limits_hold_each(struct table *table, const char *set, const struct limits *of_tune,
                             const struct limits *of_kept)
{
    bool all = strcmp(set, "all") == 0, good = true;
    if (all || strcmp(set, "kept") == 0)
        good = limits_hold(table, "kept", of_kept);
    if (all || strcmp(set, "kept") != 0)
        good = limits_hold(table, all ? "tune" : set, of_tune) && good;
    return good;
}

/* ---- by cause ------------------------------------------------------------------------------- */

static bool show_causes(const struct table *table, const struct options *options)
{
    struct cause_table causes = {0};
    bool good = true;
    if (!options->causes && !options->pictures)
        return true;
    good = cause_table_fill(&causes, table->outcomes, table->count);
    if (good && options->causes && !options->json) {
        putchar('\n');
        cause_table_print(&causes, stdout);
    }
    if (good && options->pictures)
        good = error_plots_write(options->pictures, table->outcomes, table->count, &causes);
    cause_table_clear(&causes);
    return good;
}

static void print_help(FILE *to)
{
    fputs(
        "error_table - measured angles against the truth\n\n"
        "usage: error_table [OPTIONS] FOLDER\n\n"
        "  --set NAME      only tune, kept, fresh (default: all)\n"
        "  --verbose       a line for every photo\n"
        "  --json          the groups as JSON\n"
        "  --true-lens     with a lens profile of each photo's own camera\n"
        "  --pointed       also every arm by itself, pointed at 4 px beside its ends\n"
        "  --causes        also by cause of error, and errors in units of their uncertainty\n"
        "  --pictures DIR  also plots as SVG: error-*.svg\n"
        "  --guard NAME    exit 1 when this set (all: tune and kept) is worse than what has been\n"
        "                  reached\n"
        "  --goal NAME     exit 1 until this set meets the goal\n\n"
        "example: error_table --causes --pictures docs/pictures testimages\n",
        to);
}

static bool read_options(int argc, char **argv, struct options *options)
{
    static const struct option longs[] = {{"set", 1, 0, 's'},
                                          {"verbose", 0, 0, 'v'},
                                          {"json", 0, 0, 'j'},
                                          {"guard", 1, 0, 'g'},
                                          {"causes", 0, 0, 'c'},
                                          {"pictures", 1, 0, 'p'},
                                          {"goal", 1, 0, 'G'},
                                          {"help", 0, 0, 'h'},
                                          {"true-lens", 0, 0, 'l'},
                                          {"pointed", 0, 0, 'P'},
                                          {0, 0, 0, 0}};
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
        else if (word == 'l')
            options->true_lens = true;
        else if (word == 'P')
            options->pointed = true;
        else if (word == 'c')
            options->causes = true;
        else if (word == 'p')
            options->pictures = optarg;
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
    struct outcome *outcomes = photo_set_read(options.folder, options.set, &table.count);
    if (!outcomes || table.count == 0) {
        fprintf(stderr, "error_table: no photos with truth in %s\n", options.folder);
        free(outcomes);
        return 3;
    }
    photo_set_measure(outcomes, table.count, options.true_lens, options.pointed);
    for (size_t i = 0; i < table.count && options.verbose; i++) {
        print_photo(&outcomes[i]);
        print_other(&outcomes[i]);
        print_pointed_arms(&outcomes[i]);
    }
    table.outcomes = outcomes;
    bool good = fill_table(&table);
    if (options.json)
        print_json(&table);
    else
        print_table(&table);
    good = show_pointed(&table, &options) && good;
    good = show_causes(&table, &options) && good;
    if (options.guard)
        good = limits_hold_each(&table, options.guard, &tune_guard, &kept_guard) && good;
    if (options.goal)
        good = limits_hold_each(&table, options.goal, &goal, &goal) && good;
    clear_table(&table);
    free(outcomes);
    return good ? 0 : 1;
}
