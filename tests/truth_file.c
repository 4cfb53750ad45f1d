#include "truth_file.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static void copy_text(char *to, size_t size, json_t *from)
{
    const char *text = json_string_value(from);
    snprintf(to, size, "%s", text ? text : "");
}

static struct vision_point point_of(json_t *pair)
{
    return (struct vision_point){json_number_value(json_array_get(pair, 0)),
                                 json_number_value(json_array_get(pair, 1))};
}

static double number_in(json_t *object, const char *key)
{
    return json_number_value(json_object_get(object, key));
}

static int integer_in(json_t *object, const char *key)
{
    return (int)json_integer_value(json_object_get(object, key));
}

static void add_tag(struct truth *out, const char *group, json_t *name)
{
    const char *text = json_string_value(name);
    if (text && out->tag_count < TRUTH_MAX_TAGS)
        snprintf(out->tags[out->tag_count++], sizeof out->tags[0], "%s%s", group, text);
}

static void read_causes(json_t *causes, struct truth *out)
{
    size_t i;
    json_t *tag;
    add_tag(out, "design:", json_object_get(causes, "design"));
    add_tag(out, "finish:", json_object_get(causes, "finish"));
    add_tag(out, "light:", json_object_get(causes, "light"));
    out->height_mm = number_in(causes, "height_mm");
    out->blur_px = fmax(fmax(number_in(causes, "defocus_px"), number_in(causes, "depth_blur_px")),
                        number_in(causes, "motion_px") / 2);
    out->noise = number_in(causes, "noise");
    out->jpeg_quality = integer_in(causes, "jpeg_quality");
    json_array_foreach(json_object_get(causes, "tags"), i, tag)
    {
        add_tag(out, "", tag);
    }
}

static double height_in(json_t *place)
{
    return json_number_value(json_array_get(json_object_get(place, "mm"), 2));
}

static void read_arms(json_t *root, struct truth *out)
{
    size_t i;
    json_t *arms = json_object_get(root, "arms"), *arm;
    double hub_mm = height_in(json_object_get(root, "hub"));
    json_array_foreach(arms, i, arm)
    {
        if (i >= VISION_MAX_ARMS)
            break;
        json_t *ball = json_object_get(arm, "ball");
        out->arms[i] = (struct truth_arm){number_in(arm, "angle_deg"), number_in(arm, "length_mm"),
                                          point_of(json_object_get(arm, "tip_px")),
                                          ball ? height_in(ball) - hub_mm : TRUTH_NO_BALL};
        out->arm_count = (int)i + 1;
    }
}

static void read_reference(json_t *reference, struct truth *out)
{
    const char *kind = json_string_value(json_object_get(reference, "kind"));
    json_t *hint = json_object_get(reference, "hint_px");
    out->reference = kind && strcmp(kind, "edge") == 0   ? VISION_REFERENCE_EDGE
                     : kind && strcmp(kind, "link") == 0 ? VISION_REFERENCE_LINK
                                                         : VISION_REFERENCE_CARD;
    out->reference_deg = number_in(reference, "angle_deg");
    for (size_t i = 0; i < 2; i++)
        out->hint_px[i] = point_of(json_array_get(hint, i));
}

static void read_view(json_t *root, struct truth *out)
{
    json_t *card = json_object_get(root, "card"), *camera = json_object_get(root, "camera");
    copy_text(out->card, sizeof out->card, json_object_get(card, "name"));
    out->px_per_mm = number_in(card, "px_per_mm");
    for (size_t i = 0; i < 4; i++)
        out->corners_px[i] = point_of(json_array_get(json_object_get(card, "corners_px"), i));
    out->tilt_deg = number_in(card, "tilt_deg");
    out->focal_px = number_in(camera, "focal_px");
    out->k1 = number_in(camera, "k1");
    out->k2 = number_in(camera, "k2");
    out->obliquity_deg = number_in(camera, "obliquity_deg");
    out->width_px = integer_in(camera, "width_px");
    out->height_px = integer_in(camera, "height_px");
    out->orientation = integer_in(camera, "orientation");
}

bool truth_read(const char *path, struct truth *out)
{
    json_t *root = json_load_file(path, 0, NULL), *reason;
    size_t i;
    *out = (struct truth){0};
    if (!root)
        return false;
    copy_text(out->photo, sizeof out->photo, json_object_get(root, "photo"));
    copy_text(out->set, sizeof out->set, json_object_get(root, "set"));
    out->measurable = json_is_true(json_object_get(root, "measurable"));
    json_array_foreach(json_object_get(root, "reasons"), i, reason)
    {
        if (i < TRUTH_MAX_REASONS)
            copy_text(out->reasons[i], sizeof out->reasons[0], reason);
    }
    read_view(root, out);
    read_reference(json_object_get(root, "reference"), out);
    out->hub_px = point_of(json_object_get(json_object_get(root, "hub"), "px"));
    read_arms(root, out);
    read_causes(json_object_get(root, "causes"), out);
    bool good = out->photo[0] && out->width_px > 0 && json_is_array(json_object_get(root, "arms"));
    json_decref(root);
    return good;
}

bool truth_has_tag(const struct truth *truth, const char *tag)
{
    for (int i = 0; i < truth->tag_count; i++)
        if (strcmp(truth->tags[i], tag) == 0)
            return true;
    return false;
}

bool truth_allows_reason(const struct truth *truth, const char *code)
{
    for (int i = 0; i < TRUTH_MAX_REASONS && code; i++)
        if (strcmp(truth->reasons[i], code) == 0)
            return true;
    return false;
}
