/* Where on the photo a label may stand: never on an arm, and on what else one wants to see only
 * where there is no other place. */
#include "annotate_internal.h"
#include "arithmetic/direction.h"

#include <math.h>

#define ARM_HALF_WIDTH_MM 3.5 /* wide arms with their balls */
#define LINE_ROOM_MM 1.1      /* to each side of a drawn line */
#define ACTION_ROOM_MM 2.0    /* the same of the arrow */
#define GRID_MM 1.5           /* steps of the search all over the photo */
#define FURTHEST_ASIDE_DEG 90 /* beyond, a label would turn back along its arm */

static bool boxes_touch(struct annotate_box a, struct annotate_box b)
{
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height &&
           b.y < a.y + a.height;
}

void annotate_keep_clear(struct annotate_labels *labels, enum annotate_sight sight,
                         struct annotate_box box)
{
    if (labels->count == ANNOTATE_MAX_OBSTACLES)
        return;
    labels->obstacles[labels->count++] = (struct annotate_obstacle){box, sight, NULL};
}

static void keep_clear_around(struct annotate_labels *labels, enum annotate_sight sight,
                              struct vision_point at, double room)
{
    annotate_keep_clear(labels, sight,
                        (struct annotate_box){at.x - room, at.y - room, 2 * room, 2 * room});
}

/* ---- What there is to see ----------------------------------------------------------------- */

static void add_arm(struct annotate_labels *labels, const struct annotate_scene *o,
                    const struct vision_arm *arm)
{
    double half_width_mm = fmin(ARM_HALF_WIDTH_MM, 0.25 * arm->length_mm);
    double room = half_width_mm * o->result->px_per_mm * o->view->mm_per_px;
    double deg = annotate_arm_direction(o, arm), reach = annotate_reach(o, arm);
    for (int tenths = 0; tenths <= 12; tenths++)
        keep_clear_around(labels, ANNOTATE_NEVER, annotate_from_hub(o, arm, deg, tenths / 10.0),
                          room);
    /* Its drawn line, into which only its own label may run. */
    int first = labels->count;
    for (int tenths = 13; tenths < 10 * reach; tenths++)
        keep_clear_around(labels, ANNOTATE_RATHER_NOT,
                          annotate_from_hub(o, arm, deg, tenths / 10.0), LINE_ROOM_MM);
    for (int i = first; i < labels->count; i++)
        labels->obstacles[i].line_of = arm;
}

/* The arrow that says which way to turn, and the sector that shows the deviation. */
static void add_action(struct annotate_labels *labels, const struct annotate_scene *o)
{
    const struct vision_arm *arm = &o->result->arms[0];
    if (o->answer->order != ORDER_TURN)
        return;
    double from = annotate_cure_from(o, arm);
    double sweep = annotate_arm_direction(o, arm) - arm->deviation_deg - from;
    for (int i = 0; i <= 12; i++)
        for (int j = 0; j <= 4; j++) {
            double lengths =
                ANNOTATE_WEDGE_FROM + (ANNOTATE_WEDGE_TO - ANNOTATE_WEDGE_FROM) * j / 4;
            keep_clear_around(labels, ANNOTATE_HARDLY,
                              annotate_from_hub(o, arm, from + sweep * i / 12, lengths),
                              ACTION_ROOM_MM);
        }
}

static void add_markers(struct annotate_labels *labels, const struct annotate_scene *o)
{
    const struct vision_card *card = o->result->card;
    for (int m = 0; card && m < card->marker_count; m++) {
        double half = card->marker_mm / 2, x0 = INFINITY, x1 = -INFINITY, y0 = INFINITY,
               y1 = -INFINITY;
        for (int corner = 0; corner < 4; corner++) {
            struct vision_point mm = card->markers[m].centre_mm;
            mm.x += corner & 1 ? half : -half;
            mm.y += corner & 2 ? half : -half;
            struct vision_point at =
                annotate_place(o->view, vision_plane_to_photo(&o->result->plane, mm));
            x0 = fmin(x0, at.x);
            x1 = fmax(x1, at.x);
            y0 = fmin(y0, at.y);
            y1 = fmax(y1, at.y);
        }
        annotate_keep_clear(labels, ANNOTATE_RATHER_NOT,
                            (struct annotate_box){x0, y0, x1 - x0, y1 - y0});
    }
}

static void add_line(struct annotate_labels *labels, struct vision_point a, struct vision_point b)
{
    int steps = (int)fmin(160, ceil(hypot(b.x - a.x, b.y - a.y) / LINE_ROOM_MM));
    for (int i = 0; i <= steps; i++) {
        double share = steps > 0 ? (double)i / steps : 0;
        keep_clear_around(
            labels, ANNOTATE_RATHER_NOT,
            (struct vision_point){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)},
            LINE_ROOM_MM);
    }
}

/* The reference, and the edge that lies against the servo even where it is not the reference. */
static void add_edges(struct annotate_labels *labels, const struct annotate_scene *o)
{
    const struct vision_result *result = o->result;
    add_line(labels, annotate_place(o->view, result->reference_px[0]),
             annotate_place(o->view, result->reference_px[1]));
    if (result->card && result->reference != VISION_REFERENCE_CARD)
        add_line(labels, annotate_place(o->view, result->corners_px[0]),
                 annotate_place(o->view, result->corners_px[1]));
}

void annotate_labels_init(struct annotate_labels *labels, const struct annotate_scene *o)
{
    labels->scene = o;
    labels->count = 0;
    for (int i = 0; i < o->result->arm_count; i++)
        add_arm(labels, o, &o->result->arms[i]);
    add_action(labels, o);
    add_edges(labels, o);
    add_markers(labels, o);
    annotate_keep_rim_clear(labels);
}

/* ---- Places ------------------------------------------------------------------------------- */

static bool box_inside(struct annotate_box a, const struct annotate_view *view)
{
    return a.x >= view->x_mm + 1 && a.y >= view->y_mm + 1 &&
           a.x + a.width <= view->x_mm + view->width_mm - 1 &&
           a.y + a.height <= view->y_mm + view->height_mm - 1;
}

bool annotate_is_free(const struct annotate_labels *labels, enum annotate_sight clear_of,
                      const struct vision_arm *own, struct annotate_box box)
{
    if (!box_inside(box, labels->scene->view))
        return false;
    for (int i = 0; i < labels->count; i++) {
        const struct annotate_obstacle *obstacle = &labels->obstacles[i];
        bool counts = obstacle->sight >= clear_of && !(own && obstacle->line_of == own);
        if (counts && boxes_touch(box, obstacle->box))
            return false;
    }
    return true;
}

/* Puts the box where a line from the arm's hub, so much aside of the arm's, would run into it at
 * the end of the arm's. */
static void set_box(const struct annotate_scene *o, const struct vision_arm *arm, double aside_deg,
                    struct annotate_box *box)
{
    struct vision_point end = annotate_line_end(o, arm);
    struct vision_point hub = annotate_place(o->view, arm->hub_px);
    double direction = atan2(end.y - hub.y, end.x - hub.x) + aside_deg * RAD_PER_DEG;
    box->x = end.x + (cos(direction) - 1) * box->width / 2;
    box->y = end.y + (sin(direction) - 1) * box->height / 2;
}

bool annotate_find_near(const struct annotate_labels *labels, enum annotate_sight clear_of,
                        const struct vision_arm *arm, struct annotate_box *box)
{
    for (int aside_deg = 0; aside_deg <= FURTHEST_ASIDE_DEG; aside_deg += 15)
        for (int side = -1; side <= 1; side += 2) {
            set_box(labels->scene, arm, side * aside_deg, box);
            if (annotate_is_free(labels, clear_of, arm, *box))
                return true;
        }
    return false;
}

double annotate_gap(struct annotate_box box, struct vision_point at)
{
    double r = box.height / 2, x = fmin(fmax(at.x, box.x + r), box.x + box.width - r);
    return hypot(at.x - x, at.y - box.y - r) - r;
}

bool annotate_find_any(const struct annotate_labels *labels, enum annotate_sight clear_of,
                       struct vision_point near_to, struct annotate_box *box)
{
    const struct annotate_view *view = labels->scene->view;
    const int columns = (int)(view->width_mm / GRID_MM), rows = (int)(view->height_mm / GRID_MM);
    double nearest = INFINITY;
    for (int i = 0; i < columns * rows; i++) {
        int column = i % columns, row = i / columns;
        struct annotate_box at = {view->x_mm + 1 + GRID_MM * column, view->y_mm + 1 + GRID_MM * row,
                                  box->width, box->height};
        double away = annotate_gap(at, near_to);
        if (away >= nearest || !annotate_is_free(labels, clear_of, NULL, at))
            continue;
        nearest = away;
        *box = at;
    }
    return isfinite(nearest);
}

void annotate_force_place(const struct annotate_labels *labels, const struct vision_arm *arm,
                          struct annotate_box *box)
{
    const struct annotate_view *view = labels->scene->view;
    set_box(labels->scene, arm, 0, box);
    box->x = fmin(fmax(box->x, view->x_mm + 1), view->x_mm + view->width_mm - 1 - box->width);
    box->y = fmin(fmax(box->y, view->y_mm + 1), view->y_mm + view->height_mm - 1 - box->height);
}
