#include "cause_table.h"
#include "spread.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- what sorts photos by a number ---------------------------------------------------------- */

static double obliquity(const struct truth *t)
{
    return t->obliquity_deg;
}

static double height(const struct truth *t)
{
    return t->height_mm;
}

/* Of the ball furthest from the plane of the arms; below it negative. NAN: no ball. */
static double ball_height(const struct truth *t)
{
    double most = NAN;
    for (int i = 0; i < t->arm_count; i++) {
        double over = t->arms[i].ball_over_mm;
        if (over < TRUTH_NO_BALL && !(fabs(over) <= fabs(most)))
            most = over;
    }
    return most;
}

static double tilt(const struct truth *t)
{
    return t->tilt_deg;
}

static double blur(const struct truth *t)
{
    return t->blur_px;
}

static double resolution(const struct truth *t)
{
    return t->px_per_mm;
}

/* The shortest arm: an edge is told to a share of a pixel, and turns the less the longer it is. */
static double arm_px(const struct truth *t)
{
    double least = INFINITY;
    for (int i = 0; i < t->arm_count; i++)
        least = fmin(least, t->arms[i].length_mm * t->px_per_mm);
    return isfinite(least) ? least : 0;
}

double cause_lens_shift_px(const struct truth *t)
{
    double most = 0;
    for (int i = 0; i < 4; i++) {
        double x = t->corners_px[i].x - (t->width_px - 1) / 2.0;
        double y = t->corners_px[i].y - (t->height_px - 1) / 2.0;
        /* Of the bent point instead of the straight one: a few hundredths of the shift. */
        double r = hypot(x, y) / t->focal_px, r2 = r * r;
        most = fmax(most, fabs(t->focal_px * r * (t->k1 * r2 + t->k2 * r2 * r2)));
    }
    return most;
}

static double noise(const struct truth *t)
{
    return t->noise;
}

#define MAX_EDGES 8
#define NONE 1e-6 /* ends the group of those that have none of it */

/* Group i holds values from edges[i] up to edges[i + 1]. */
static const struct measure {
    const char *cause, *unit;
    double (*value)(const struct truth *);
    double edges[MAX_EDGES];
    int edge_count;
} measures[] = {
    {"obliquity", "deg", obliquity, {0, 6, 12, 18, 25, 36}, 6},
    {"arm over card", "mm", height, {0, 2, 4, 7, 13}, 5},
    {"ball over arm", "mm", ball_height, {-9, 0, 4, 6}, 4},
    {"card's tilt", "deg", tilt, {0, 0.1, 0.3, 1.6}, 4},
    {"blur", "px", blur, {0, NONE, 1.5, 2.5, 8}, 5},
    {"resolution", "px/mm", resolution, {0, 7, 9, 12, 16, 40}, 6},
    {"arm in the photo", "px", arm_px, {0, 100, 150, 200, 300, 1000}, 6},
    {"lens moves corner", "px", cause_lens_shift_px, {0, 1, 3, 8, 99}, 5},
    {"noise", "x by day", noise, {0, 0.8, 1.4, 3, 8}, 5},
};

/* ---- what sorts photos by a word ------------------------------------------------------------ */

#define MAX_WORDS 8

/* A group holds the photos that have one of its tags. */
static const struct kind {
    const char *cause, *group, *tags[MAX_WORDS];
} kinds[] = {
    {"light", "window", {"light:window"}},
    {"light", "ceiling", {"light:ceiling"}},
    {"light", "overcast", {"light:overcast"}},
    {"light", "lamp", {"light:lamp"}},
    {"light", "two lamps", {"light:two-lamps"}},
    {"light", "window and lamp", {"light:mixed"}},
    {"light", "low sun", {"light:sun"}},
    {"light", "raking lamp", {"light:raking"}},
    {"light", "ring, flash", {"light:ring", "light:flash"}},
    {"light", "screen", {"light:screen"}},
    {"light", "coloured", {"light:coloured"}},
    {"light", "dim", {"light:dim"}},
    {"finish", "black matt", {"finish:black_matt", "finish:printed"}},
    {"finish", "black shiny", {"finish:black_gloss", "finish:carbon"}},
    {"finish", "grey", {"finish:grey"}},
    {"finish", "white", {"finish:white", "finish:natural"}},
    {"finish", "translucent", {"finish:translucent"}},
    {"finish",
     "bright metal",
     {"finish:silver", "finish:brushed", "finish:chrome", "finish:titanium"}},
    {"finish",
     "dyed metal",
     {"finish:red", "finish:blue", "finish:gold", "finish:purple", "finish:green",
      "finish:orange"}},
    {"finish", "two colours", {"finish:two_colour", "finish:two_tone", "finish:worn"}},
    {"finish", "like the card", {"finish:tint_a", "finish:tint_b"}},
    {"part", "one arm", {"design:single", "design:tail"}},
    {"part", "two arms in line", {"design:double", "design:unequal"}},
    {"part", "crank", {"design:crank90", "design:crankodd", "design:tee"}},
    {"part", "three or four arms", {"design:three", "design:cross", "design:uneven"}},
    {"part", "six arms", {"design:star"}},
    {"part",
     "other outlines",
     {"design:paddle", "design:hourglass", "design:slotted", "design:clamp", "design:thin",
      "design:thick", "design:bulged"}},
    {"part", "disc", {"design:disc"}},
    {"part", "wheel", {"design:wheel"}},
    {"in the way", "ball", {"ball", "ball-below"}},
    {"in the way", "link", {"link"}},
    {"in the way", "finger", {"finger"}},
    {"in the way", "tape, plate", {"tape", "frame-over-border"}},
    {"in the way", "clutter", {"clutter"}},
    {"in the way", "half out of it", {"half-out"}},
    {"card", "bent", {"bent-card"}},
    {"card", "tilted", {"tilted-card"}},
    {"stored", "strong JPEG", {"strong-jpeg"}},
    {"focus", "narrow depth", {"narrow-depth"}},
};

static bool has_one_of(const struct truth *truth, const char *const *tags)
{
    for (int i = 0; i < MAX_WORDS && tags[i]; i++)
        if (truth_has_tag(truth, tags[i]))
            return true;
    return false;
}

static const char *const cards[] = {"hand", "long", "frame", "mini"};

/* ---- a row ---------------------------------------------------------------------------------- */

struct filling {
    struct cause_table *table;
    const struct outcome *outcomes;
    size_t count;
    bool *in; /* which photos belong to the row */
    double *errors_deg, *us_deg;
};

static void take(struct cause_row *row, const struct outcome *o, struct filling *f)
{
    row->photos++;
    row->silent_wrong += o->silent_wrong;
    if (o->result.status != VISION_OK)
        return;
    f->errors_deg[row->answered] = o->worst_deg;
    f->us_deg[row->answered] = o->worst_u_deg;
    row->answered++;
    row->arms += o->compared;
    row->covered += o->covered;
}

static void add_row(struct filling *f, const char *cause, const char *group)
{
    struct cause_row row = {.cause = cause};
    snprintf(row.group, sizeof row.group, "%s", group);
    for (size_t i = 0; i < f->count; i++)
        if (f->in[i] && f->outcomes[i].truth.measurable)
            take(&row, &f->outcomes[i], f);
    size_t n = (size_t)row.answered;
    spread_sort(f->errors_deg, n);
    spread_sort(f->us_deg, n);
    row.median_deg = spread_quantile(f->errors_deg, n, 0.5);
    row.p95_deg = spread_quantile(f->errors_deg, n, 0.95);
    row.max_deg = spread_quantile(f->errors_deg, n, 1);
    row.median_u_deg = spread_quantile(f->us_deg, n, 0.5);
    if (row.photos > 0 && f->table->count < CAUSE_MAX_ROWS)
        f->table->rows[f->table->count++] = row;
}

/* 0: an ordinary photo; 1: of the set's second part, which says how its JPEG was stored, with one
 * thing against it; 2: of the first part, with most hard things at once. */
static int difficulty(const struct truth *truth)
{
    return truth_has_tag(truth, "plain") ? 0 : truth->jpeg_quality > 0 ? 1 : 2;
}

static void add_sets(struct filling *f)
{
    static const char *const sets[] = {"tune", "kept", "fresh"};
    for (size_t i = 0; i < f->count; i++)
        f->in[i] = true;
    add_row(f, "all", "all");
    for (int s = 0; s < 3; s++) {
        for (size_t i = 0; i < f->count; i++)
            f->in[i] = strcmp(f->outcomes[i].truth.set, sets[s]) == 0;
        add_row(f, "set", sets[s]);
    }
    static const char *const photos[] = {"ordinary", "one thing against it", "most at once"};
    for (int p = 0; p < 3; p++) {
        for (size_t i = 0; i < f->count; i++)
            f->in[i] = difficulty(&f->outcomes[i].truth) == p;
        add_row(f, "photo", photos[p]);
    }
}

static void add_measure(struct filling *f, const struct measure *m)
{
    for (int e = 0; e + 1 < m->edge_count; e++) {
        char group[32];
        snprintf(group, sizeof group, "%g to %g %s", m->edges[e], m->edges[e + 1], m->unit);
        if (m->edges[e + 1] == NONE)
            snprintf(group, sizeof group, "none");
        else if (m->edges[e] == NONE)
            snprintf(group, sizeof group, "up to %g %s", m->edges[e + 1], m->unit);
        for (size_t i = 0; i < f->count; i++) {
            double v = m->value(&f->outcomes[i].truth);
            bool last = e + 2 == m->edge_count;
            f->in[i] = v >= m->edges[e] && (v < m->edges[e + 1] || last);
        }
        add_row(f, m->cause, group);
    }
}

static void add_kind(struct filling *f, const struct kind *kind)
{
    for (size_t i = 0; i < f->count; i++)
        f->in[i] = has_one_of(&f->outcomes[i].truth, kind->tags);
    add_row(f, kind->cause, kind->group);
}

static void add_card(struct filling *f, const char *size)
{
    size_t length = strlen(size);
    for (size_t i = 0; i < f->count; i++) {
        const char *card = f->outcomes[i].truth.card;
        f->in[i] = strncmp(card, size, length) == 0 && card[length] == '-';
    }
    add_row(f, "card", size);
}

/* Nothing of what the rows of "in the way" hold. */
static void add_free(struct filling *f)
{
    static const char *const ways[MAX_WORDS] = {"ball", "ball-below", "link",     "finger",
                                                "tape", "clutter",    "half-out", NULL};
    for (size_t i = 0; i < f->count; i++)
        f->in[i] = !has_one_of(&f->outcomes[i].truth, ways) &&
                   !truth_has_tag(&f->outcomes[i].truth, "frame-over-border");
    add_row(f, "in the way", "nothing");
}

/* ---- the table ------------------------------------------------------------------------------ */

static void collect_z(struct cause_table *table, const struct outcome *outcomes, size_t count)
{
    for (size_t p = 0; p < count; p++) {
        const struct vision_result *r = &outcomes[p].result;
        for (int i = 0; i < r->arm_count; i++)
            if (outcomes[p].truth.measurable && r->status == VISION_OK && outcomes[p].real[i] &&
                r->arms[i].u_deg > 0)
                table->z[table->z_count++] = outcomes[p].signed_error_deg[i] / r->arms[i].u_deg;
    }
    spread_sort(table->z, (size_t)table->z_count);
}

/* What a photo that is not to be measured shows stands in its name: "kept-70-far.jpg". */
static void name_refusal(const char *photo, char *what, size_t size)
{
    const char *number = strchr(photo, '-'), *from = number ? strchr(number + 1, '-') : NULL;
    from = from ? from + 1 : photo;
    snprintf(what, size, "%.*s", (int)strcspn(from, "."), from);
}

static struct cause_refusal *refusal_of(struct cause_table *table, const char *what)
{
    for (int i = 0; i < table->refusal_count; i++)
        if (strcmp(table->refusals[i].what, what) == 0)
            return &table->refusals[i];
    if (table->refusal_count == CAUSE_MAX_REFUSALS)
        return NULL;
    struct cause_refusal *row = &table->refusals[table->refusal_count++];
    snprintf(row->what, sizeof row->what, "%s", what);
    return row;
}

static void collect_unanswered(struct cause_table *table, const struct outcome *outcomes,
                               size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct outcome *o = &outcomes[i];
        if (o->truth.measurable && o->result.status != VISION_OK)
            table->unanswered[o->result.reason][!truth_has_tag(&o->truth, "plain")]++;
    }
}

static void collect_refusals(struct cause_table *table, const struct outcome *outcomes,
                             size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char what[32];
        if (outcomes[i].truth.measurable)
            continue;
        name_refusal(outcomes[i].truth.photo, what, sizeof what);
        struct cause_refusal *row = refusal_of(table, what);
        if (!row)
            continue;
        row->photos++;
        row->refused += outcomes[i].result.status == VISION_FAILED;
        row->unsure += outcomes[i].result.status == VISION_UNSURE;
        row->false_ok += outcomes[i].result.status == VISION_OK;
    }
}

bool cause_table_fill(struct cause_table *table, const struct outcome *outcomes, size_t count)
{
    *table = (struct cause_table){.z = calloc(count * VISION_MAX_ARMS + 1, sizeof *table->z)};
    struct filling f = {.table = table,
                        .outcomes = outcomes,
                        .count = count,
                        .in = calloc(count + 1, sizeof *f.in),
                        .errors_deg = calloc(count + 1, sizeof *f.errors_deg),
                        .us_deg = calloc(count + 1, sizeof *f.us_deg)};
    bool good = table->z && f.in && f.errors_deg && f.us_deg;
    if (good) {
        add_sets(&f);
        for (size_t m = 0; m < sizeof measures / sizeof measures[0]; m++)
            add_measure(&f, &measures[m]);
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
            if (strcmp(kinds[k].group, "ball") == 0)
                add_free(&f);
            if (strcmp(kinds[k].group, "bent") == 0)
                for (size_t c = 0; c < sizeof cards / sizeof cards[0]; c++)
                    add_card(&f, cards[c]);
            add_kind(&f, &kinds[k]);
        }
        collect_unanswered(table, outcomes, count);
        collect_refusals(table, outcomes, count);
        collect_z(table, outcomes, count);
    }
    free(f.in);
    free(f.errors_deg);
    free(f.us_deg);
    return good;
}

void cause_table_clear(struct cause_table *table)
{
    free(table->z);
    *table = (struct cause_table){0};
}

/* ---- printing ------------------------------------------------------------------------------- */

static void print_row(const struct cause_row *row, const char *cause, FILE *to)
{
    fprintf(to, "%-18s %-20s %4d %8d", cause, row->group, row->photos, row->answered);
    if (row->answered)
        fprintf(to, " %7.3f %7.3f %7.3f", row->median_deg, row->p95_deg, row->max_deg);
    else
        fprintf(to, " %7s %7s %7s", "-", "-", "-");
    if (row->arms)
        fprintf(to, " %5.0f%%", 100.0 * row->covered / row->arms);
    else
        fprintf(to, " %6s", "-");
    if (row->median_deg > 0)
        fprintf(to, " %7.1f", row->median_u_deg / row->median_deg);
    else
        fprintf(to, " %7s", "-");
    fprintf(to, " %7d\n", row->silent_wrong);
}

static void print_unanswered(const struct cause_table *table, FILE *to)
{
    fprintf(to, "\n%-39s %8s %7s\n", "measurable, not answered, because", "ordinary", "others");
    for (int reason = 0; reason < VISION_REASON_COUNT; reason++) {
        const int *n = table->unanswered[reason];
        const char *code = vision_reason_code((enum vision_reason)reason);
        if (n[0] + n[1] > 0)
            fprintf(to, "%-39s %8d %7d\n", code ? code : "-", n[0], n[1]);
    }
}

static void print_refusals(const struct cause_table *table, FILE *to)
{
    if (table->refusal_count > 0)
        fprintf(to, "\n%-39s %4s %8s %7s %8s\n", "not to be measured", "n", "refused", "unsure",
                "false ok");
    for (int i = 0; i < table->refusal_count; i++) {
        const struct cause_refusal *row = &table->refusals[i];
        fprintf(to, "%-39s %4d %8d %7d %8d\n", row->what, row->photos, row->refused, row->unsure,
                row->false_ok);
    }
}

static int within(const struct cause_table *table, double limit)
{
    int n = 0;
    for (int i = 0; i < table->z_count; i++)
        n += fabs(table->z[i]) <= limit;
    return n;
}

static void print_z(const struct cause_table *table, FILE *to)
{
    /* Shares of the normal distribution. */
    static const double expected[] = {68.27, 95.45, 99.73};
    if (table->z_count == 0)
        return;
    fprintf(to, "\nerror / u of %d arms answered: median %+.2f\n", table->z_count,
            spread_quantile(table->z, (size_t)table->z_count, 0.5));
    for (int k = 1; k <= 3; k++)
        fprintf(to, "  within %d u: %5.1f %%  (normal distribution: %.1f %%)\n", k,
                100.0 * within(table, k) / table->z_count, expected[k - 1]);
    double worst = fmax(-table->z[0], table->z[table->z_count - 1]);
    fprintf(to, "  furthest: %.1f u\n", worst);
}

void cause_table_print(const struct cause_table *table, FILE *to)
{
    fprintf(to, "%-18s %-20s %4s %8s %7s %7s %7s %6s %7s %7s\n", "cause", "group", "n", "answered",
            "median", "p95", "max", "in 2u", "u/error", "silent");
    for (int i = 0; i < table->count; i++) {
        const struct cause_row *row = &table->rows[i];
        bool again = i > 0 && strcmp(table->rows[i - 1].cause, row->cause) == 0;
        print_row(row, again ? "" : row->cause, to);
    }
    print_unanswered(table, to);
    print_refusals(table, to);
    print_z(table, to);
}
