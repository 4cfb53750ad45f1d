#include "disc_face.h"

#include "card/card_line.h"
#include "maths/median.h"

#include <math.h>
#include <stdlib.h>

bool disc_face_read(const struct vision_image *image, const struct card_fix *fix,
                    const struct silhouette *s, const struct rim *outline, double radii,
                    struct disc_face *out)
{
    const int reach = (int)ceil(radii * outline->radius_mm / DISC_FACE_PITCH_MM);
    const double half = reach * DISC_FACE_PITCH_MM;
    out->side = 2 * reach + 1;
    out->corner_mm =
        (struct vision_point){outline->centre_mm.x - half, outline->centre_mm.y - half};
    out->look = calloc((size_t)out->side * (size_t)out->side, sizeof *out->look);
    if (!out->look)
        return false;
    for (int j = 0; j < out->side; j++) {
        const struct vision_point from = {out->corner_mm.x,
                                          out->corner_mm.y + j * DISC_FACE_PITCH_MM};
        const struct vision_point step = {DISC_FACE_PITCH_MM, 0};
        const struct card_line line = card_line_start(image, &fix->plane, from, step);
        double paper[3], factor[3];
        silhouette_paper(s, from, paper);
        silhouette_paper(s, (struct vision_point){from.x + step.x, from.y}, factor);
        for (int c = 0; c < 3; c++)
            factor[c] /= paper[c];
        float(*row)[3] = &out->look[j * out->side];
        card_line_read(&line, 0, out->side, row);
        for (int i = 0; i < out->side; i++)
            for (int c = 0; c < 3; c++) {
                row[i][c] = row[i][0] >= 0 ? sqrtf(row[i][c] / (float)paper[c]) : -1;
                paper[c] *= factor[c];
            }
    }
    return true;
}

void disc_face_clear(struct disc_face *face)
{
    free(face->look);
    *face = (struct disc_face){.side = 0};
}

struct vision_point disc_face_point(const struct disc_face *face, size_t at)
{
    size_t side = (size_t)face->side, column = at % side, row = at / side;
    return (struct vision_point){face->corner_mm.x + (double)column * DISC_FACE_PITCH_MM,
                                 face->corner_mm.y + (double)row * DISC_FACE_PITCH_MM};
}

bool disc_face_has(const struct disc_face *face, const struct rim *outline, size_t at, double from,
                   double to)
{
    const struct vision_point mm = disc_face_point(face, at);
    const double dx = mm.x - outline->centre_mm.x, dy = mm.y - outline->centre_mm.y;
    const double r = sqrt(dx * dx + dy * dy) / outline->radius_mm; /* hypot is slow */
    return face->look[at][0] >= 0 && r >= from && r <= to;
}

bool disc_face_usual(const struct disc_face *face, const struct rim *outline, double from,
                     double to, const float axes[3][3], double middle[3], double spread[3])
{
    enum { MOST = 4000 };
    double values[MOST];
    size_t n = (size_t)face->side * (size_t)face->side, stride = n / MOST + 1;
    for (int a = 0; a < 3; a++) {
        int count = 0;
        for (size_t i = 0; i < n; i += stride)
            if (disc_face_has(face, outline, i, from, to))
                values[count++] = sample_dot(face->look[i], axes[a]);
        if (count < 100)
            return false;
        middle[a] = median_upper(values, count);
        for (int i = 0; spread && i < count; i++)
            values[i] = fabs(values[i] - middle[a]);
        if (spread)
            spread[a] = 1.4826 * median_upper(values, count);
    }
    return true;
}
