#include "light.h"

#include "maths/linalg.h"
#include "maths/median.h"
#include "photo/sample.h"

#include <math.h>
#include <string.h>

/* Median linear RGB of a marker's quiet zone, sampled along its middle line. */
static bool paper_white(const struct vision_image *image, const struct card_fix *fix, int which,
                        float out[3])
{
    double values[3][40];
    int n = 0;
    double cell = fix->card->marker_mm / 8;
    struct vision_point centre = fix->card->markers[which].centre_mm;
    for (int i = 0; i < 40; i++) {
        int side = i / 10;
        double along = (i % 10 - 4.5) * cell, across = 4.5 * cell;
        double x = side == 0 ? along : side == 1 ? across : side == 2 ? -along : -across;
        double y = side == 0 ? across : side == 1 ? along : side == 2 ? -across : -along;
        float rgb[3];
        struct vision_point mm = {(centre.x + x) * fix->bar_scale_x,
                                  (centre.y + y) * fix->bar_scale_y};
        if (!sample_at(image, vision_plane_to_photo(&fix->plane, mm), rgb))
            continue;
        for (int c = 0; c < 3; c++)
            values[c][n] = rgb[c];
        n++;
    }
    if (n < 20)
        return false;
    for (int c = 0; c < 3; c++)
        out[c] = (float)median_upper(values[c], n);
    return out[0] > 0.002F && out[1] > 0.002F && out[2] > 0.002F;
}

/* Log-linear light through the white of the markers. With fewer than four markers only its level
 * is taken: three points carry a slope but cannot show that it is wrong. */
bool light_measure(const struct vision_image *image, const struct card_fix *fix, struct light *out)
{
    double normal[9] = {0}, right[3][3] = {{0}};
    int n = 0;
    memset(out, 0, sizeof *out);
    for (int i = 0; i < fix->markers; i++) {
        float white[3];
        if (!paper_white(image, fix, fix->which[i], white))
            continue;
        struct vision_point p = fix->card->markers[fix->which[i]].centre_mm;
        double row[3] = {1, p.x, p.y};
        for (int j = 0; j < 3; j++) {
            for (int k = 0; k < 3; k++)
                normal[j * 3 + k] += row[j] * row[k];
            for (int c = 0; c < 3; c++)
                right[c][j] += row[j] * log((double)white[c]);
        }
        n++;
    }
    if (n == 0)
        return false;
    for (int c = 0; c < 3; c++)
        if (n < 4 || !linalg_solve(3, normal, right[c], out->log_rgb[c])) {
            out->log_rgb[c][0] = right[c][0] / n;
            out->log_rgb[c][1] = out->log_rgb[c][2] = 0;
        }
    return true;
}
