#include "sticker_turn.h"

#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "arm_uncertainty.h"
#include "base/clean_text.h"
#include "base/text_end.h"
#include "lens/lens_profile.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct vision_arm *find_sticker(const struct vision_result *result, const char *name)
{
    for (int i = 0; i < result->arm_count; i++)
        if (strcmp(result->arms[i].name, name) == 0)
            return &result->arms[i];
    return NULL;
}

/* Whether the photos share a lens. */
enum cameras { CAMERAS_ONE, CAMERAS_SEVERAL, CAMERAS_UNTOLD };

/* A sticker in one photo: direction with what is doubted but for the lens, and what that does, see
 * vision_slope. */
struct sight {
    struct quantity own;
    double lens_deg[2];
};

/* With the u of a normal distribution of the same "±", as stations carry on with u alone. */
static struct sight see(const struct vision_arm *arm, const struct vision_slope *slope)
{
    struct sight sight = {.own = {arm->angle_deg, arm_normal_u_deg(arm)}};
    double square = sight.own.u * sight.own.u;
    for (int k = 0; k < 2; k++) {
        sight.lens_deg[k] = slope->lens_deg[k];
        square -= slope->lens_deg[k] * slope->lens_deg[k];
    }
    sight.own.u = sqrt(fmax(0, square));
    return sight;
}

/* What the lens leaves in a weighted sum of directions: one lens is wrong by the same in all, those
 * of several cameras by something each. Untold, whichever leaves more. */
static double lens_u_deg(const struct sight *at, const double *weights, int n, enum cameras cameras)
{
    double sum[2] = {0}, squares = 0;
    for (int i = 0; i < n; i++)
        for (int k = 0; k < 2; k++) {
            sum[k] += weights[i] * at[i].lens_deg[k];
            squares += weights[i] * weights[i] * at[i].lens_deg[k] * at[i].lens_deg[k];
        }
    const double one = hypot(sum[0], sum[1]), several = sqrt(squares);
    return cameras == CAMERAS_ONE ? one : cameras == CAMERAS_SEVERAL ? several : fmax(one, several);
}

static void widen(struct quantity *q, const struct sight *at, const double weights[3],
                  enum cameras cameras)
{
    q->u = hypot(q->u, lens_u_deg(at, weights, 3, cameras));
}

/* One end, other end, neutral. */
static void tell_centre(const struct sight at[3], enum cameras cameras, struct sticker_track *out)
{
    static const double first[3] = {1, 0, -1}, second[3] = {0, 1, -1}, travel[3] = {1, -1, 0},
                        middle[3] = {0.5, 0.5, 0}, offset[3] = {-0.5, -0.5, 1};
    struct station_centre *c = &out->centre;
    *c = station_centre(at[0].own, at[1].own, at[2].own);
    widen(&c->first_throw, at, first, cameras);
    widen(&c->second_throw, at, second, cameras);
    widen(&c->travel, at, travel, cameras);
    widen(&c->middle, at, middle, cameras);
    widen(&c->offset, at, offset, cameras);
    for (int i = 0; i < 3; i++)
        out->own_u_deg[i] = at[i].own.u;
    out->lens_u_deg = lens_u_deg(at, offset, 3, cameras);
}

/* Photos that say nothing of their camera, as a chat program leaves them, may be of any, unless
 * they were measured with a profile that somebody named for them. */
static enum cameras cameras_of(const struct sticker_turn *t, const struct sticker_photo *photos)
{
    const struct vision_result *first = photos[t->photos[0]].result;
    for (int i = 1; i < t->used; i++) {
        const struct vision_result *other = photos[t->photos[i]].result;
        if (lens_profile_difference(&first->photo, &other->photo) ||
            strcmp(first->lens, other->lens) != 0)
            return CAMERAS_SEVERAL;
    }
    return *first->photo.camera || *first->lens ? CAMERAS_ONE : CAMERAS_UNTOLD;
}

/* false when it is missing in one of the photos. */
static bool follow(const struct sticker_turn *t, const struct sticker_photo *photos,
                   const char *name, struct sticker_track *out)
{
    static const double change[2] = {-1, 1};
    struct sight at[STICKER_MAX_PHOTOS] = {{.lens_deg = {0}}};
    const enum cameras cameras = cameras_of(t, photos);
    *out = (struct sticker_track){.name = name};
    for (int i = 0; i < t->used; i++) {
        const struct vision_result *result = photos[t->photos[i]].result;
        const struct vision_arm *arm = find_sticker(result, name);
        if (!arm)
            return false;
        at[i] = see(arm, &result->slopes[arm - result->arms]);
        out->unsure = out->unsure || result->status == VISION_UNSURE;
        const struct sight both[2] = {at[0], at[i]};
        double own = hypot(at[i].own.u, at[0].own.u);
        out->turns[i] =
            (struct quantity){direction_turn(at[i].own.value - at[0].own.value),
                              i > 0 ? hypot(own, lens_u_deg(both, change, 2, cameras)) : 0};
    }
    if (t->centred)
        tell_centre(at, cameras, out);
    return true;
}

static bool same_reference(const struct vision_result *a, const struct vision_result *b)
{
    return a->fixed == b->fixed && (a->fixed || a->card == b->card);
}

void sticker_turn_make(const struct sticker_photo *photos, int count, bool centred,
                       struct sticker_turn *out)
{
    *out = (struct sticker_turn){.centred = centred};
    for (int i = 0; i < count && i < STICKER_MAX_PHOTOS; i++)
        if (photos[i].result->status != VISION_FAILED)
            out->photos[out->used++] = i;
    if (out->used < 2 || (centred && out->used != 3)) {
        out->fault = STICKER_FEW;
        return;
    }
    const struct vision_result *first = photos[out->photos[0]].result;
    for (int i = 1; i < out->used; i++)
        if (!same_reference(first, photos[out->photos[i]].result))
            out->fault = STICKER_OTHERS;
    for (int i = 0; i < first->arm_count && !out->fault; i++)
        out->track_count +=
            follow(out, photos, first->arms[i].name, &out->tracks[out->track_count]);
    if (!out->fault && out->track_count == 0)
        out->fault = STICKER_NO_PAIR;
}

const char *sticker_fault_says(enum sticker_fault fault)
{
    switch (fault) {
    case STICKER_FEW:
        return "Too few photos gave an answer; take those that did not again, and give them all.";
    case STICKER_OTHERS:
        return "The photos were measured against different things; leave one card or one fixed "
               "sticker where it is, and have it in every photo.";
    case STICKER_NO_PAIR:
        return "No crank's sticker shows in every photo; take it into each of them.";
    case STICKER_FINE:
        break;
    }
    return "";
}

/* NULL where it tells, or no centre was asked for. */
static const struct station_centre *faulty_centre(const struct sticker_turn *t,
                                                  const struct sticker_track *track)
{
    return t->centred && station_centre_fault(&track->centre) ? &track->centre : NULL;
}

static const struct sticker_track *first_faulty(const struct sticker_turn *t)
{
    for (int k = 0; k < t->track_count; k++)
        if (faulty_centre(t, &t->tracks[k]))
            return &t->tracks[k];
    return NULL;
}

const char *sticker_turn_centre_fault(const struct sticker_turn *t, const char **name)
{
    const struct sticker_track *track = first_faulty(t);
    if (!track)
        return NULL;
    *name = track->name;
    return station_centre_fault(&track->centre);
}

/* ---- Words ---------------------------------------------------------------------------------- */

static void amount(struct quantity q, char out[PLUS_MINUS_WORDS])
{
    plus_minus_degrees(q.value, quantity_expanded(q), out);
}

static void write_turn(FILE *to, const struct sticker_track *track, int i, const char *from,
                       const char *name)
{
    char text[PLUS_MINUS_WORDS];
    amount(track->turns[i], text);
    if (fabs(track->turns[i].value) <= quantity_expanded(track->turns[i]))
        fprintf(to, "Sticker %s did not turn as far as the photos can tell, from %s to %s: %s.\n",
                track->name, from, name, text);
    else
        fprintf(to, "Sticker %s turned %s %s as seen in the photo, from %s to %s.\n", track->name,
                text, direction_way(track->turns[i].value), from, name);
}

/* What to do hangs on what made the ends, which "linkage centre" asks, and judges by its tolerance.
 * Its three angles there go with uncertainties of their own, as wide as it takes for none of what
 * it tells to be surer than here: up to a hundredth. */
static void write_command(FILE *to, const struct sticker_track *track)
{
    const struct station_centre *c = &track->centre;
    const double *u = track->own_u_deg;
    const double wider =
        fmax(c->offset.u / hypot(u[2], hypot(u[0], u[1]) / 2),
             fmax(c->first_throw.u / hypot(u[0], u[2]), c->second_throw.u / hypot(u[1], u[2])));
    const double angles[3] = {c->first_throw.value, c->second_throw.value, 0};
    fputs("    Next, \"armsquare linkage centre", to);
    for (int i = 0; i < 3; i++)
        fprintf(to, " %.2f±%.2f", angles[i],
                fmax(1, ceil(100 * quantity_expanded((struct quantity){0, wider * u[i]}) - 1e-6)) /
                    100);
    fputs("\" tells what to do, and end points.\n", to);
}

static void write_centre(FILE *to, const struct sticker_track *track)
{
    const struct station_centre *c = &track->centre;
    char offset[PLUS_MINUS_WORDS], travel[PLUS_MINUS_WORDS];
    char first[PLUS_MINUS_WORDS], second[PLUS_MINUS_WORDS];
    amount(c->offset, offset);
    amount(c->travel, travel);
    amount(c->first_throw, first);
    amount(c->second_throw, second);
    if (fabs(c->offset.value) <= quantity_expanded(c->offset))
        fprintf(to,
                "Sticker %s: neutral is in the middle of the travel as far as the photos can "
                "tell: %s.\n",
                track->name, offset);
    else
        fprintf(to,
                "Sticker %s: neutral lies %s %s of the middle of the travel as seen in the "
                "photo.\n",
                track->name, offset, direction_way(c->offset.value));
    fprintf(to, "    Travel %s: %s %s and %s %s of neutral.\n", travel, first,
            direction_way(c->first_throw.value), second, direction_way(c->second_throw.value));
    if (!track->unsure)
        write_command(to, track);
}

/* faults: those of single stickers, too. The caller's; NULL without memory. */
static char *tell(const struct sticker_turn *t, const struct sticker_photo *photos, bool faults)
{
    char *text = NULL, *from = clean_text(photos[t->photos[0]].name);
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    bool good = to && from;
    for (int k = 0; good && k < t->track_count; k++) {
        const struct sticker_track *track = &t->tracks[k];
        const struct station_centre *faulty = faulty_centre(t, track);
        if (faulty && faults)
            fprintf(to, "Sticker %s: %s\n", track->name, station_centre_fault(faulty));
        if (faulty)
            continue;
        if (t->centred)
            write_centre(to, track);
        for (int i = 1; good && !t->centred && i < t->used; i++) {
            char *name = clean_text(photos[t->photos[i]].name);
            good = name != NULL;
            if (good)
                write_turn(to, track, i, from, name);
            free(name);
        }
        if (track->unsure)
            fprintf(to, "    Check it: one of the photos is unsure, as said above.\n");
    }
    free(from);
    if (text_end(to, &text) && good)
        return text;
    free(text);
    return NULL;
}

char *sticker_turn_words(const struct sticker_turn *t, const struct sticker_photo *photos)
{
    return tell(t, photos, false);
}

/* ---- JSON ----------------------------------------------------------------------------------- */

static json_t *rounded(double value)
{
    return json_real(quantity_rounded(value, 3));
}

static json_t *quantity_json(struct quantity q)
{
    return json_pack("{s:o, s:o, s:o}", "deg", rounded(q.value), "u_deg", rounded(q.u), "U_deg",
                     rounded(quantity_expanded(q)));
}

static json_t *centre_json(const struct station_centre *c)
{
    return json_pack("{s:o, s:o, s:o, s:o, s:b}", "offset", quantity_json(c->offset), "travel",
                     quantity_json(c->travel), "first_throw", quantity_json(c->first_throw),
                     "second_throw", quantity_json(c->second_throw), "between", c->between);
}

static const char *track_status(const struct sticker_turn *t, const struct sticker_track *track)
{
    return faulty_centre(t, track) ? "failed" : track->unsure ? "unsure" : "ok";
}

/* The worst of the stickers'. */
static const char *status_of(const struct sticker_turn *t)
{
    if (t->fault || first_faulty(t))
        return "failed";
    for (int k = 0; k < t->track_count; k++)
        if (t->tracks[k].unsure)
            return "unsure";
    return "ok";
}

static const char *reason_of(const struct sticker_turn *t)
{
    static const char *const reasons[] = {NULL, "few-photos", "other-reference",
                                          "no-common-sticker"};
    const struct sticker_track *faulty = first_faulty(t);
    return t->fault || !faulty ? reasons[t->fault] : station_centre_fault_code(&faulty->centre);
}

static json_t *track_json(const struct sticker_turn *t, const struct sticker_track *track)
{
    json_t *turns = json_array();
    for (int i = 0; i < t->used; i++)
        json_array_append_new(turns, quantity_json(track->turns[i]));
    return json_pack("{s:s, s:s, s:o, s:o}", "name", track->name, "status", track_status(t, track),
                     "turned", turns, "centre",
                     t->centred ? centre_json(&track->centre) : json_null());
}

/* Sentences one behind the other: lines and indents are for a terminal. */
static void join_lines(char *text)
{
    char *to = text;
    for (const char *from = text; *from; from++) {
        bool blank = *from == ' ' || *from == '\n';
        if (!blank)
            *to++ = *from;
        else if (to > text && to[-1] != ' ')
            *to++ = ' ';
    }
    if (to > text && to[-1] == ' ')
        to--;
    *to = '\0';
}

json_t *sticker_turn_json(const struct sticker_turn *t, const struct sticker_photo *photos)
{
    char *words = t->fault ? strdup(sticker_fault_says(t->fault)) : tell(t, photos, true);
    if (words)
        join_lines(words);
    json_t *names = json_array(), *tracks = json_array();
    for (int i = 0; i < t->used; i++) {
        char *name = clean_text(photos[t->photos[i]].name);
        json_array_append_new(names, json_string(name ? name : "?"));
        free(name);
    }
    for (int k = 0; k < t->track_count; k++)
        json_array_append_new(tracks, track_json(t, &t->tracks[k]));
    json_t *json = json_pack("{s:{s:o, s:s, s:s?, s:s, s:o}}", "turned", "photos", names, "status",
                             status_of(t), "reason", reason_of(t), "message", words ? words : "",
                             "stickers", tracks);
    free(words);
    return json;
}
