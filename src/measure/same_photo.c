#include "same_photo.h"

#include "arithmetic/direction.h"
#include "base/exit_status.h"
#include "base/input_file.h"
#include "base/message.h"
#include "base/same_file.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

static bool same_bytes(FILE *a, FILE *b)
{
    char one[4096], two[sizeof one];
    size_t size;
    do {
        size = fread(one, 1, sizeof one, a);
        if (fread(two, 1, sizeof two, b) != size || memcmp(one, two, size) != 0)
            return false;
    } while (size == sizeof one);
    return !ferror(a) && !ferror(b);
}

/* A copy: files that differ, as good as all do, differ in size or in the first block. */
static bool is_copy(const char *a, const char *b)
{
    FILE *one = input_file_open(a), *two = one ? input_file_open(b) : NULL;
    bool same = one && two && same_bytes(one, two);
    if (one)
        fclose(one);
    if (two)
        fclose(two);
    return same;
}

bool same_photo(const char *a, const char *b)
{
    struct stat one, two;
    if (same_file(a, b))
        return true;
    return stat(a, &one) == 0 && stat(b, &two) == 0 && S_ISREG(one.st_mode) &&
           S_ISREG(two.st_mode) && one.st_size > 0 && one.st_size == two.st_size && is_copy(a, b);
}

/* ---- Copies with the same pixels ---------------------------------------------------------- */

/* Both as records keep them. From photos of one thing with the noise of a phone in good light (0.9
 * % of full scale) the card's corners differ by 0.005 pixels, hub and tip by 0.1 to 0.3, and angles
 * by 0.005 degrees. */
#define SAME_PX 0.0101
#define SAME_DEG 0.00101
/* Of a copy that a viewer has turned by quarters the pixels are read in another order: an arm
 * agrees so far in 16 of 30 turned test photos. Turning JPEG without loss may shift it by some
 * pixels. */
#define TURNED_PX 0.0501
#define TURNED_DEG 0.0101

struct photo_trace photo_trace_of(const struct vision_result *result, const struct vision_arm *arm)
{
    struct photo_trace trace = {.width_px = result->photo.width_px,
                                .height_px = result->photo.height_px,
                                .hub_px = arm->hub_px,
                                .tip_px = arm->tip_px,
                                .angle_deg = arm->angle_deg};
    memcpy(trace.corners_px, result->corners_px, sizeof trace.corners_px);
    return trace;
}

static bool same_point(struct vision_point a, struct vision_point b, double px)
{
    return fabs(a.x - b.x) < px && fabs(a.y - b.y) < px;
}

static bool same_within(const struct photo_trace *a, const struct photo_trace *b, double px,
                        double deg)
{
    for (int i = 0; i < 4; i++)
        if (!same_point(a->corners_px[i], b->corners_px[i], px))
            return false;
    return same_point(a->hub_px, b->hub_px, px) && same_point(a->tip_px, b->tip_px, px) &&
           fabs(direction_turn(a->angle_deg - b->angle_deg)) < deg;
}

/* A quarter clockwise, about where another's first corner lies. */
static struct photo_trace quarter_turn(const struct photo_trace *t, struct vision_point corner_px)
{
    struct photo_trace turned = *t;
    enum { POINTS = 6 };
    struct vision_point *points[POINTS] = {&turned.corners_px[0], &turned.corners_px[1],
                                           &turned.corners_px[2], &turned.corners_px[3],
                                           &turned.hub_px,        &turned.tip_px};
    for (int i = 0; i < POINTS; i++) {
        const double x = points[i]->x - t->corners_px[0].x, y = points[i]->y - t->corners_px[0].y;
        *points[i] = (struct vision_point){corner_px.x - y, corner_px.y + x};
    }
    return turned;
}

bool photo_trace_same(const struct photo_trace *a, const struct photo_trace *b)
{
    struct photo_trace turned = *b;
    bool same = a->width_px == b->width_px && a->height_px == b->height_px &&
                same_within(a, b, SAME_PX, SAME_DEG);
    for (int quarters = 1; quarters < 4 && !same; quarters++) {
        turned = quarter_turn(&turned, a->corners_px[0]);
        same = same_within(a, &turned, TURNED_PX, TURNED_DEG);
    }
    return same;
}

bool same_measured(const struct vision_result *a, const struct vision_result *b)
{
    for (int i = 0; i < a->arm_count; i++)
        for (int j = 0; j < b->arm_count; j++) {
            struct photo_trace one = photo_trace_of(a, &a->arms[i]);
            struct photo_trace two = photo_trace_of(b, &b->arms[j]);
            if (photo_trace_same(&one, &two))
                return true;
        }
    return false;
}

int refuse_same_measured(struct measured_photo (*photo_at)(const void *context, size_t i),
                         const void *context, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct measured_photo photo = photo_at(context, i);
        for (size_t j = 0; photo.path && j < i; j++) {
            const struct measured_photo before = photo_at(context, j);
            if (before.path && same_measured(photo.result, before.result))
                return fail_usage("\"%s\" and \"%s\" are one photo: " SAME_MEASURED
                                  "; each reading needs a photo of its own.",
                                  before.path, photo.path);
        }
    }
    return EXIT_DONE;
}

/* ---- Files -------------------------------------------------------------------------------- */

static const char *path_at(const void *first, size_t i, size_t stride)
{
    const char *path;
    memcpy(&path, (const char *)first + i * stride, sizeof path);
    return path;
}

int refuse_same_photo(const void *first, size_t count, size_t stride)
{
    for (size_t i = 0; i < count; i++) {
        const char *path = path_at(first, i, stride);
        for (size_t j = 0; path && j < i; j++) {
            const char *before = path_at(first, j, stride);
            if (before && same_photo(path, before))
                return fail_usage("\"%s\" and \"%s\" are one photo; each reading needs a photo of "
                                  "its own.",
                                  before, path);
        }
    }
    return EXIT_DONE;
}
