#include "sticker_series.h"

#include "arithmetic/direction.h"
#include "parallel.h"

#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAX_SERIES 400

/* ---- reading -------------------------------------------------------------------------------- */

static const char *const shots[SERIES_SHOTS] = {"one-end", "other-end", "neutral"};

struct shot_truth {
    int series;
    const char *photo, *set, *shot, *sticker, *fixed, *light;
    double turned_deg, lean_deg, tilt_deg, obliquity_deg;
    const json_t *tags;
};

static bool unpack(json_t *root, struct shot_truth *out)
{
    json_t *tags = NULL;
    bool good =
        json_unpack(root,
                    "{s:s, s:s, s:{s:F}, s:{s:s, s:F}, s:{s:i, s:s, s:s, s:F, s:F}, s:{s:s, s:o}}",
                    "photo", &out->photo, "set", &out->set, "camera", "obliquity_deg",
                    &out->obliquity_deg, "card", "name", &out->fixed, "tilt_deg", &out->tilt_deg,
                    "crank", "series", &out->series, "shot", &out->shot, "sticker", &out->sticker,
                    "turned_deg", &out->turned_deg, "lean_deg", &out->lean_deg, "causes", "light",
                    &out->light, "tags", &tags) == 0;
    out->tags = tags;
    return good && out->series >= 0 && out->series < MAX_SERIES;
}

static bool has_tag(const struct shot_truth *t, const char *tag)
{
    for (size_t i = 0; i < json_array_size(t->tags); i++) {
        const char *name = json_string_value(json_array_get(t->tags, i));
        if (name && strcmp(name, tag) == 0)
            return true;
    }
    return false;
}

static bool take_shot(const struct shot_truth *t, const char *folder, struct sticker_series *s)
{
    int shot = 0;
    while (shot < SERIES_SHOTS && strcmp(t->shot, shots[shot]) != 0)
        shot++;
    if (shot == SERIES_SHOTS)
        return false;
    s->number = t->series;
    snprintf(s->folder, sizeof s->folder, "%s", folder);
    snprintf(s->set, sizeof s->set, "%s", t->set);
    snprintf(s->sticker, sizeof s->sticker, "%s", t->sticker);
    snprintf(s->fixed, sizeof s->fixed, "%s", t->fixed);
    snprintf(s->photos[shot], sizeof s->photos[shot], "%s", t->photo);
    s->by_card = vision_card_by_name(t->fixed) != NULL;
    s->boom = has_tag(t, "boom");
    s->shaded = has_tag(t, "shade");
    s->shiny = has_tag(t, "sheen");
    s->raking = strcmp(t->light, "raking") == 0;
    s->steepest_deg = fmax(s->steepest_deg, t->obliquity_deg);
    s->turned_deg[shot] = t->turned_deg;
    s->lean_deg = t->lean_deg + t->tilt_deg;
    return true;
}

static bool read_truth(const char *folder, const char *name, struct sticker_series *all)
{
    char path[800];
    struct shot_truth truth;
    snprintf(path, sizeof path, "%s/%s", folder, name);
    json_t *root = json_load_file(path, 0, NULL);
    bool good = root && unpack(root, &truth) && take_shot(&truth, folder, &all[truth.series]);
    json_decref(root);
    if (!good)
        fprintf(stderr, "%s is not the truth of a photo of a hidden crank.\n", path);
    return good;
}

/* Moves the series that there are to the front. 0, with a message, when one lacks a photo. */
static size_t gather(struct sticker_series *all)
{
    size_t count = 0;
    for (size_t i = 0; i < MAX_SERIES; i++) {
        int photos = 0;
        for (int k = 0; k < SERIES_SHOTS; k++)
            photos += all[i].photos[k][0] != '\0';
        if (photos == SERIES_SHOTS)
            all[count++] = all[i];
        else if (photos > 0) {
            fprintf(stderr, "Series %zu lacks a photo.\n", i);
            return 0;
        }
    }
    return count;
}

struct sticker_series *sticker_series_read(const char *folder, size_t *count)
{
    struct sticker_series *all = calloc(MAX_SERIES, sizeof *all);
    DIR *dir = opendir(folder);
    bool good = all && dir;
    if (!good)
        fprintf(stderr, "Cannot read %s.\n", folder);
    for (struct dirent *entry; good && (entry = readdir(dir));) {
        const char *end = strrchr(entry->d_name, '.');
        if (end && strcmp(end, ".json") == 0)
            good = read_truth(folder, entry->d_name, all);
    }
    if (dir)
        closedir(dir);
    *count = good ? gather(all) : 0;
    if (*count > 0)
        return all;
    free(all);
    return NULL;
}

/* ---- measuring ------------------------------------------------------------------------------ */

static void measure_photo(struct sticker_series *s, int shot)
{
    char path[600];
    struct vision_photo *photo = NULL;
    struct vision_options options = vision_options_default();
    snprintf(path, sizeof path, "%s/%s", s->folder, s->photos[shot]);
    if (vision_photo_open(path, &photo) != VISION_REASON_NONE) {
        s->results[shot] = (struct vision_result){.status = VISION_FAILED};
        return;
    }
    vision_measure_stickers(photo, &options, &s->results[shot]);
    vision_photo_free(photo);
}

static void judge(struct sticker_series *s)
{
    const struct sticker_track *track = &s->turn.tracks[0];
    const double *at = s->turned_deg;
    double ends = (at[SERIES_ONE_END] + at[SERIES_OTHER_END]) / 2;
    const double truth[SERIES_TOLD] = {at[SERIES_ONE_END] - at[SERIES_NEUTRAL],
                                       at[SERIES_OTHER_END] - at[SERIES_NEUTRAL],
                                       at[SERIES_NEUTRAL] - ends};
    for (int k = 0; k < SERIES_TOLD; k++)
        s->error_deg[k] = NAN;
    if (s->turn.fault)
        return;
    s->unsure = track->unsure || !track->centre.between;
    s->ok = !s->unsure;
    s->told[SERIES_FIRST_THROW] = track->centre.first_throw;
    s->told[SERIES_SECOND_THROW] = track->centre.second_throw;
    s->told[SERIES_OFFSET] = track->centre.offset;
    for (int k = 0; k < SERIES_TOLD; k++) {
        s->error_deg[k] = direction_turn(s->told[k].value - truth[k]);
        s->silent_wrong |= s->ok && fabs(s->error_deg[k]) > fmax(1, 4 * s->told[k].u);
    }
}

static void measure_one(void *context, size_t i)
{
    struct sticker_series *s = (struct sticker_series *)context + i;
    struct sticker_photo photos[SERIES_SHOTS];
    for (int k = 0; k < SERIES_SHOTS; k++) {
        measure_photo(s, k);
        photos[k] = (struct sticker_photo){s->photos[k], &s->results[k]};
    }
    sticker_turn_make(photos, SERIES_SHOTS, true, &s->turn);
    judge(s);
}

void sticker_series_measure(struct sticker_series *series, size_t count)
{
    parallel_pieces(parallel_processors(), count, measure_one, series);
}
