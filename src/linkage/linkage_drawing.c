#include "linkage_drawing.h"

#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "drawing/lettering.h"
#include "drawing/plot.h"
#include "linkage_words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* The sheet, mm. A row for each part: mechanism left, curves right. */
#define SHEET_WIDTH 210.0
#define MARGIN 12.0
#define HEAD_HEIGHT 27.0
#define ROW_HEIGHT 82.0
#define FOOT_HEIGHT 10.0
#define PICTURE_WIDTH 96.0
#define PICTURE_TOP 16.0 /* below the row's heading */
#define PICTURE_HEIGHT 58.0
#define PLOT_LEFT_MM 124.0
#define PLOT_WIDTH (SHEET_WIDTH - MARGIN - PLOT_LEFT_MM)
#define LABEL_TEXT 2.8
#define ACTION_TEXT 3.0
#define ACTION_WIDTH (SHEET_WIDTH - 2 * MARGIN)
#define CURVE_POINTS 121
/* A link longer than this many times both arms is drawn with a break, or the arms would vanish. */
#define BREAK_RATIO 2.2

#define DEGREE "\xc2\xb0"
#define MINUS "\xe2\x88\x92"
#define PLUS_MINUS "\xc2\xb1"

struct point {
    double x, y;
};

/* Everything about one stage that a picture at one servo position needs; stage frame, mm. */
struct placed {
    struct point horn_ball, arm_axis, arm_ball;
    bool has_horn, has_arm, slides;
};

static struct point polar(struct point from, double length, double rad)
{
    return (struct point){from.x + length * cos(rad), from.y + length * sin(rad)};
}

/* shift: how far the driven side is moved towards the driving one where the link is broken. */
static struct placed place(const struct linkage_ready_stage *stage, const struct linkage_pose *pose,
                           struct point shift)
{
    struct placed p = {{0, 0}, {0, 0}, {0, 0}, true, false, linkage_slides(stage->kind)};
    p.horn_ball = polar((struct point){0, 0}, stage->horn_mm, pose->horn_rad);
    switch (stage->kind) {
    case LINKAGE_CRANK:
        p.has_arm = true;
        p.arm_axis = polar(shift, stage->base_mm, stage->base_rad);
        p.arm_ball = polar(p.arm_axis, stage->arm_mm, pose->out);
        break;
    case LINKAGE_SLIDER:
        p.arm_ball = (struct point){pose->out + shift.x, stage->across_mm + shift.y};
        break;
    case LINKAGE_YOKE:
        p.arm_ball = p.horn_ball;
        break;
    case LINKAGE_PITCH_ARM:
        p.has_horn = false;
        p.has_arm = true;
        p.arm_ball = polar(p.arm_axis, stage->arm_mm, pose->out);
        break;
    }
    return p;
}

/* ---- Scale ----------------------------------------------------------------------------------- */

struct box {
    double x0, y0, x1, y1;
};

static void grow(struct box *box, struct point at)
{
    box->x0 = fmin(box->x0, at.x);
    box->y0 = fmin(box->y0, at.y);
    box->x1 = fmax(box->x1, at.x);
    box->y1 = fmax(box->y1, at.y);
}

/* From the stage's frame (mm, y up) to the paper (mm, y down). */
struct view {
    double scale, x, y;
};

static struct point on_paper(const struct view *view, struct point at)
{
    return (struct point){view->x + view->scale * at.x, view->y - view->scale * at.y};
}

static struct view fit_view(const struct placed *placed, int count, double left, double top)
{
    struct box box = {0, 0, 0, 0};
    for (int i = 0; i < count; i++) {
        if (placed[i].has_horn)
            grow(&box, placed[i].horn_ball);
        if (placed[i].has_arm)
            grow(&box, placed[i].arm_axis);
        grow(&box, placed[i].arm_ball);
    }
    /* Room for hubs, balls and the angles written past the tips. */
    double width = PICTURE_WIDTH - 22, height = PICTURE_HEIGHT - 20;
    double scale = fmin(width / fmax(box.x1 - box.x0, 1), height / fmax(box.y1 - box.y0, 1));
    scale = fmin(scale, 3); /* a tiny part need not fill the sheet */
    return (struct view){scale, left + PICTURE_WIDTH / 2 - scale * (box.x0 + box.x1) / 2,
                         top + PICTURE_HEIGHT / 2 + scale * (box.y0 + box.y1) / 2};
}

static struct point break_shift(const struct linkage_ready_stage *stage)
{
    double arms = stage->horn_mm + stage->arm_mm;
    double shown = BREAK_RATIO * (linkage_slides(stage->kind) ? 2 * stage->horn_mm : arms);
    if (stage->kind == LINKAGE_CRANK && stage->base_mm > shown)
        return polar((struct point){0, 0}, shown - stage->base_mm, stage->base_rad);
    if (stage->kind == LINKAGE_SLIDER && stage->link_mm > shown)
        return (struct point){stage->neutral > 0 ? shown - stage->link_mm : stage->link_mm - shown,
                              0};
    return (struct point){0, 0};
}

/* ---- Strokes --------------------------------------------------------------------------------- */

static void line(cairo_t *cr, struct point a, struct point b)
{
    cairo_move_to(cr, a.x, a.y);
    cairo_line_to(cr, b.x, b.y);
    cairo_stroke(cr);
}

static void disc(cairo_t *cr, struct point at, double radius, struct plot_colour rim)
{
    plot_disc(cr, at.x, at.y, radius, rim, 0.45);
}

/* One break across the links of all positions (the break of ISO 128 drawings): a white slanted band
 * between two strokes, half way along the link at neutral and as tall as the links lie apart. */
static void draw_break(cairo_t *cr, const struct view *view, const struct placed placed[3])
{
    struct point a = on_paper(view, placed[1].horn_ball), b = on_paper(view, placed[1].arm_ball);
    struct point m = {(a.x + b.x) / 2, (a.y + b.y) / 2};
    double half = 2.4;
    for (int i = 0; i < 3; i++) {
        struct point h = on_paper(view, placed[i].horn_ball);
        struct point d = on_paper(view, placed[i].arm_ball);
        half = fmax(half, fabs((h.y + d.y) / 2 - m.y) + 2.4);
    }
    double lean = 0.35 * half;
    cairo_new_path(cr);
    cairo_move_to(cr, m.x - 1.2 - lean, m.y + half);
    cairo_line_to(cr, m.x - 1.2 + lean, m.y - half);
    cairo_line_to(cr, m.x + 1.2 + lean, m.y - half);
    cairo_line_to(cr, m.x + 1.2 - lean, m.y + half);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_fill(cr);
    plot_set_colour(cr, plot_soft, 1);
    cairo_set_line_width(cr, 0.25);
    for (int side = -1; side <= 1; side += 2)
        line(cr, (struct point){m.x + side * 1.2 - lean, m.y + half},
             (struct point){m.x + side * 1.2 + lean, m.y - half});
}

static void draw_arm(cairo_t *cr, struct point axis, struct point ball, double width)
{
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_width(cr, width);
    line(cr, axis, ball);
}

/* The slider: a block on its rod. */
static void draw_block(cairo_t *cr, struct point at, struct plot_colour colour, double alpha)
{
    cairo_rectangle(cr, at.x - 2.6, at.y - 1.8, 5.2, 3.6);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_fill_preserve(cr);
    plot_set_colour(cr, colour, alpha);
    cairo_set_line_width(cr, 0.5);
    cairo_stroke(cr);
}

static void draw_link(cairo_t *cr, const struct view *view, const struct placed *p,
                      struct plot_colour colour, bool main)
{
    if (!p->has_horn)
        return;
    plot_set_colour(cr, colour, main ? 1 : 0.75);
    cairo_set_line_width(cr, main ? 0.7 : 0.4);
    line(cr, on_paper(view, p->horn_ball), on_paper(view, p->arm_ball));
}

static void draw_parts(cairo_t *cr, const struct view *view, const struct placed *p,
                       struct plot_colour colour, bool main)
{
    struct point horn_ball = on_paper(view, p->horn_ball), ball = on_paper(view, p->arm_ball);
    double alpha = main ? 1 : 0.75, width = main ? 2.2 : 1.1, radius = main ? 0.9 : 0.7;
    plot_set_colour(cr, colour, alpha);
    if (p->has_horn)
        draw_arm(cr, on_paper(view, (struct point){0, 0}), horn_ball, width);
    if (p->has_arm)
        draw_arm(cr, on_paper(view, p->arm_axis), ball, width);
    if (p->slides)
        draw_block(cr, ball, colour, alpha);
    disc(cr, ball, radius, colour);
    if (p->has_horn)
        disc(cr, horn_ball, radius, colour);
}

static void draw_hub(cairo_t *cr, struct point at)
{
    disc(cr, at, 2.1, plot_ink);
    plot_set_colour(cr, plot_ink, 1);
    cairo_arc(cr, at.x, at.y, 0.5, 0, 2 * M_PI);
    cairo_fill(cr);
}

/* Where the angles are measured from: a chain line along the frame's x axis through a hub. */
static void draw_reference(cairo_t *cr, struct point through, double left, double right)
{
    static const double dashes[] = {3, 0.8, 0.6, 0.8};
    cairo_save(cr);
    plot_set_colour(cr, plot_soft, 0.8);
    cairo_set_line_width(cr, 0.15);
    cairo_set_dash(cr, dashes, 4, 0);
    line(cr, (struct point){left, through.y}, (struct point){right, through.y});
    cairo_restore(cr);
}

/* ---- Lettering ------------------------------------------------------------------------------- */

/* A real minus sign, plus in front of what is positive, and nothing in front of what rounds to
 * zero.
 */
static void number_after(double value, int decimals, const char *plus, const char *unit, char *text,
                         size_t size)
{
    char digits[20];
    snprintf(digits, sizeof digits, "%.*f", decimals, fabs(value));
    bool zero = digits[strspn(digits, "0.")] == '\0';
    snprintf(text, size, "%s%s%s", zero ? "" : value < 0 ? MINUS : plus, digits, unit);
}

static void signed_number(double value, int decimals, const char *unit, char *text, size_t size)
{
    number_after(value, decimals, "+", unit, text, size);
}

/* Bold text on a white rim, so that a line behind it does not strike it out. */
static void label(cairo_t *cr, double x, double y, struct plot_colour colour, const char *text)
{
    double width = plot_text_width(cr, LABEL_TEXT, PLOT_BOLD, text); /* sets the font too */
    cairo_save(cr);
    cairo_new_path(cr);
    cairo_move_to(cr, x - width / 2, y);
    cairo_text_path(cr, text);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_width(cr, 1.1);
    cairo_set_source_rgba(cr, 1, 1, 1, 0.9);
    cairo_stroke_preserve(cr);
    plot_set_colour(cr, colour, 1);
    cairo_fill(cr);
    cairo_restore(cr);
}

/* Past the tip of the arm at neutral. */
static void label_tip(cairo_t *cr, struct point axis, struct point tip, const char *text)
{
    double length = fmax(hypot(tip.x - axis.x, tip.y - axis.y), 1e-9);
    double ux = (tip.x - axis.x) / length, uy = (tip.y - axis.y) / length;
    double width = plot_text_width(cr, LABEL_TEXT, PLOT_BOLD, text);
    label(cr, tip.x + ux * (3 + width / 2), tip.y + uy * 4 + 0.95, plot_ink, text);
}

/* Beside an arm at one end, on the side away from neutral, where no link passes. */
static void label_beside(cairo_t *cr, struct point axis, struct point tip, struct point neutral,
                         struct plot_colour colour, const char *text)
{
    double length = fmax(hypot(tip.x - axis.x, tip.y - axis.y), 1e-9);
    double ux = (tip.x - axis.x) / length, uy = (tip.y - axis.y) / length;
    double cross = ux * (neutral.y - axis.y) - uy * (neutral.x - axis.x);
    double nx = cross > 0 ? uy : -uy, ny = cross > 0 ? -ux : ux;
    double width = plot_text_width(cr, LABEL_TEXT, PLOT_BOLD, text);
    double away = 2.2 + fabs(nx) * width / 2 + fabs(ny) * 1.2;
    label(cr, axis.x + 0.66 * length * ux + away * nx,
          axis.y + 0.66 * length * uy + away * ny + 0.95, colour, text);
}

struct row {
    const struct linkage *linkage;
    const struct linkage_result *result;
    int stage;
    double top;
    double head_top;              /* of the heading; the picture's top lies lower by a long text */
    struct linkage_pose poses[3]; /* low, neutral, high */
    struct placed placed[3];
    struct view view;
    bool broken;
};

static const struct plot_colour *position_colour(int position)
{
    return position == 0 ? &plot_low : position == 1 ? &plot_ink : &plot_high;
}

static const char *shown_unit(enum linkage_kind kind)
{
    return linkage_slides(kind) ? " mm" : DEGREE;
}

/* Blocks stand side by side: neutral's label a line further out, all on the side of the slide that
 * the link does not come from. */
static double block_label_y(const struct row *row, int position)
{
    const struct placed *middle = &row->placed[1];
    bool link_above = middle->horn_ball.y - middle->arm_ball.y > 1;
    double out = position == 1 ? 7.2 : 3.4;
    return link_above ? out + 2 : -out;
}

/* Where the driven part stands at neutral and how far it moves to both ends. */
static void label_positions(cairo_t *cr, const struct row *row)
{
    const struct linkage_ready_stage *stage = &row->result->ready.stages[row->stage];
    int decimals = linkage_slides(stage->kind) ? 2 : 1;
    for (int i = 0; i < 3; i++) {
        char text[48];
        const struct placed *p = &row->placed[i];
        struct point axis = on_paper(&row->view, p->has_arm ? p->arm_axis : p->arm_ball);
        struct point ball = on_paper(&row->view, p->arm_ball);
        double value = linkage_shown(stage->kind, i == 1 ? row->poses[i].out : row->poses[i].moved);
        if (i == 1)
            snprintf(text, sizeof text, "%.*f%s", decimals, value, shown_unit(stage->kind));
        else
            signed_number(value, decimals, shown_unit(stage->kind), text, sizeof text);
        if (!p->has_arm)
            label(cr, ball.x, ball.y + block_label_y(row, i), *position_colour(i), text);
        else if (i == 1)
            label_tip(cr, axis, ball, text);
        else
            label_beside(cr, axis, ball, on_paper(&row->view, row->placed[1].arm_ball),
                         *position_colour(i), text);
    }
}

/* Lengths on a line under the picture, where nothing can lie in their way. */
static void label_lengths(cairo_t *cr, const struct row *row)
{
    const struct linkage_ready_stage *stage = &row->result->ready.stages[row->stage];
    char text[200] = "";
    switch (stage->kind) {
    case LINKAGE_CRANK:
        snprintf(text, sizeof text, "horn %.1f   link %.2f   arm %.1f   axis to axis %.1f mm%s",
                 stage->horn_mm, stage->link_mm, stage->arm_mm, stage->base_mm,
                 row->broken ? "   (link shown broken)" : "");
        break;
    case LINKAGE_SLIDER:
        snprintf(text, sizeof text, "horn %.1f   link %.2f   offset %.1f mm%s", stage->horn_mm,
                 stage->link_mm, stage->across_mm, row->broken ? "   (link shown broken)" : "");
        break;
    case LINKAGE_YOKE:
        snprintf(text, sizeof text, "horn %.1f mm, pin in a slot", stage->horn_mm);
        break;
    case LINKAGE_PITCH_ARM:
        snprintf(text, sizeof text, "arm %.1f mm, swung by the slider", stage->arm_mm);
        break;
    }
    plot_set_colour(cr, plot_soft, 1);
    plot_text(cr, MARGIN, row->top + PICTURE_TOP + PICTURE_HEIGHT + 4.6, 2.6, PLOT_LEFT,
              PLOT_NORMAL, text);
}

static void draw_picture(cairo_t *cr, const struct row *row)
{
    static const int order[3] = {0, 2, 1}; /* neutral on top */
    double left = MARGIN;
    const struct placed *middle = &row->placed[1];
    struct point origin = on_paper(&row->view, (struct point){0, 0});
    draw_reference(cr, middle->has_horn ? origin : on_paper(&row->view, middle->arm_axis), left,
                   left + PICTURE_WIDTH);
    if (middle->has_arm)
        draw_reference(cr, on_paper(&row->view, middle->arm_axis),
                       on_paper(&row->view, middle->arm_axis).x - 12, left + PICTURE_WIDTH);
    if (middle->slides)
        draw_reference(cr, on_paper(&row->view, middle->arm_ball), left, left + PICTURE_WIDTH);
    for (int i = 0; i < 3; i++)
        draw_link(cr, &row->view, &row->placed[order[i]], *position_colour(order[i]),
                  order[i] == 1);
    if (row->broken)
        draw_break(cr, &row->view, row->placed);
    for (int i = 0; i < 3; i++)
        draw_parts(cr, &row->view, &row->placed[order[i]], *position_colour(order[i]),
                   order[i] == 1);
    if (middle->has_horn)
        draw_hub(cr, origin);
    if (middle->has_arm)
        draw_hub(cr, on_paper(&row->view, middle->arm_axis));
    label_positions(cr, row);
    label_lengths(cr, row);
}

/* ---- Curves ---------------------------------------------------------------------------------- */

struct curve {
    size_t n;
    double servo_deg[CURVE_POINTS], moved[CURVE_POINTS], straight[CURVE_POINTS];
    double transmission_deg[CURVE_POINTS];
};

static void read_curve(const struct row *row, struct curve *curve)
{
    const struct linkage *linkage = row->linkage;
    double gain = row->result->stages[row->stage].gain_neutral;
    curve->n = 0;
    for (int i = 0; i < CURVE_POINTS; i++) {
        struct linkage_pose poses[LINKAGE_MAX_STAGES];
        double servo =
            linkage->low_deg + (linkage->high_deg - linkage->low_deg) * i / (CURVE_POINTS - 1);
        if (linkage_pose(&row->result->ready, servo, poses, NULL) != LINKAGE_OK)
            continue;
        size_t n = curve->n++;
        curve->servo_deg[n] = servo;
        curve->moved[n] = linkage_shown(linkage->stages[row->stage].kind, poses[row->stage].moved);
        curve->straight[n] = gain * servo;
        curve->transmission_deg[n] = poses[row->stage].transmission_rad / RAD_PER_DEG;
    }
}

static void mark_end(cairo_t *cr, const struct plot *plot, double servo, double moved,
                     struct plot_colour colour)
{
    disc(cr, (struct point){plot_x(plot, servo), plot_y(plot, moved)}, 0.9, colour);
}

static void draw_movement(cairo_t *cr, const struct row *row, const struct curve *curve)
{
    static const double dashes[] = {1.2, 0.9};
    enum linkage_kind kind = row->linkage->stages[row->stage].kind;
    double most = 1e-6;
    for (size_t i = 0; i < curve->n; i++)
        most = fmax(most, fmax(fabs(curve->moved[i]), fabs(curve->straight[i])));
    struct plot plot = {PLOT_LEFT_MM,          row->top + 18,          PLOT_WIDTH,  32,
                        row->linkage->low_deg, row->linkage->high_deg, -1.1 * most, 1.1 * most};
    char heading[80];
    snprintf(heading, sizeof heading, "Movement, %s (dashed: in proportion)",
             linkage_slides(kind) ? "mm" : "degrees");
    plot_frame(cr, &plot, heading);
    cairo_save(cr);
    plot_set_colour(cr, plot_soft, 1);
    cairo_set_line_width(cr, 0.25);
    cairo_set_dash(cr, dashes, 2, 0);
    plot_line(cr, &plot, curve->servo_deg, curve->straight, curve->n);
    cairo_set_dash(cr, NULL, 0, 0);
    plot_set_colour(cr, plot_ink, 1);
    cairo_set_line_width(cr, 0.55);
    plot_line(cr, &plot, curve->servo_deg, curve->moved, curve->n);
    cairo_restore(cr);
    mark_end(cr, &plot, curve->servo_deg[0], curve->moved[0], plot_low);
    mark_end(cr, &plot, curve->servo_deg[curve->n - 1], curve->moved[curve->n - 1], plot_high);
}

static void draw_transmission(cairo_t *cr, const struct row *row, const struct curve *curve)
{
    enum linkage_kind kind = row->linkage->stages[row->stage].kind;
    struct plot plot = {PLOT_LEFT_MM,          row->top + 61,          PLOT_WIDTH, 12,
                        row->linkage->low_deg, row->linkage->high_deg, 0,          90};
    plot_band(cr, &plot, 0, LINKAGE_HARSH_DEG, plot_warn);
    plot_band(cr, &plot, LINKAGE_HARSH_DEG, LINKAGE_SMOOTH_DEG, plot_high);
    plot_frame(cr, &plot,
               kind == LINKAGE_CRANK    ? "Link against arm, degrees (best 90)"
               : kind == LINKAGE_SLIDER ? "Link against the slide's square, degrees (best 90)"
                                        : "Arm against the slide, degrees (best 90)");
    cairo_save(cr);
    plot_set_colour(cr, plot_ink, 1);
    cairo_set_line_width(cr, 0.55);
    plot_line(cr, &plot, curve->servo_deg, curve->transmission_deg, curve->n);
    cairo_restore(cr);
    plot_set_colour(cr, plot_soft, 1);
    plot_text(cr, PLOT_LEFT_MM + PLOT_WIDTH, row->top + 79.6, 2.6, PLOT_RIGHT, PLOT_NORMAL,
              "servo, degrees from neutral");
}

/* ---- Sheet ----------------------------------------------------------------------------------- */

/* What to do about a part, without its name, which the heading says. "" when there is nothing. */
static void row_action(const struct linkage_sheet *sheet, int stage,
                       char text[LINKAGE_SENTENCE_SIZE])
{
    char action[LINKAGE_SENTENCE_SIZE] = "";
    size_t name = strlen(sheet->linkage->stages[stage].name) + 2;
    if (!sheet->only_shows)
        linkage_say_action(sheet->linkage, sheet->result, stage, action, sizeof action);
    snprintf(text, LINKAGE_SENTENCE_SIZE, "%s", strlen(action) > name ? action + name : "");
    text[0] = (char)toupper((unsigned char)text[0]);
}

/* What an action takes beyond the two lines that a row has room for. */
static double long_action(const struct linkage_sheet *sheet, int stage)
{
    char text[LINKAGE_SENTENCE_SIZE];
    row_action(sheet, stage, text);
    return fmax(0, plot_paragraph_height(ACTION_WIDTH, ACTION_TEXT, text) -
                       plot_paragraph_height(ACTION_WIDTH, ACTION_TEXT, "\n\n"));
}

static void draw_row_head(cairo_t *cr, const struct linkage_sheet *sheet, const struct row *row)
{
    char text[LINKAGE_SENTENCE_SIZE], title[LINKAGE_NAME_SIZE + 64];
    const struct linkage_stage_result *it = &row->result->stages[row->stage];
    double top = row->head_top;
    plot_set_colour(cr, plot_faint, 1);
    cairo_set_line_width(cr, 0.25);
    line(cr, (struct point){MARGIN, top}, (struct point){SHEET_WIDTH - MARGIN, top});
    snprintf(title, sizeof title, "%d  %s", row->stage + 1, row->linkage->stages[row->stage].name);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, MARGIN, top + 6, 4.2, PLOT_LEFT, PLOT_BOLD, title);
    char differential[24]; /* its sign tells which throw is the larger one */
    number_after(it->differential.value, 1, "", "", differential, sizeof differential);
    int length = snprintf(text, sizeof text, "differential %s", differential);
    if (it->differential.u > 0)
        length += snprintf(text + length, sizeof text - (size_t)length, " " PLUS_MINUS " %.1f",
                           plus_minus_rounded(quantity_expanded(it->differential), 1));
    snprintf(text + length, sizeof text - (size_t)length, " %%");
    plot_text(cr, SHEET_WIDTH - MARGIN, top + 6, 3.2, PLOT_RIGHT, PLOT_NORMAL, text);
    row_action(sheet, row->stage, text);
    plot_paragraph(cr, MARGIN, top + 10.8, ACTION_WIDTH, ACTION_TEXT, text);
}

static void draw_row(cairo_t *cr, const struct linkage_sheet *sheet, int stage, double top)
{
    struct row row = {
        .linkage = sheet->linkage, .result = sheet->result, .stage = stage, .head_top = top};
    row.top = top + long_action(sheet, stage);
    const struct linkage_ready_stage *ready = &sheet->result->ready.stages[stage];
    const double servo[3] = {sheet->linkage->low_deg, 0, sheet->linkage->high_deg};
    struct point shift = break_shift(ready);
    row.broken = shift.x != 0 || shift.y != 0;
    for (int i = 0; i < 3; i++) {
        struct linkage_pose poses[LINKAGE_MAX_STAGES];
        if (linkage_pose(&sheet->result->ready, servo[i], poses, NULL) != LINKAGE_OK)
            return;
        row.poses[i] = poses[stage];
        row.placed[i] = place(ready, &poses[stage], shift);
    }
    row.view = fit_view(row.placed, 3, MARGIN, row.top + PICTURE_TOP);
    struct curve curve;
    read_curve(&row, &curve);
    draw_row_head(cr, sheet, &row);
    draw_picture(cr, &row);
    draw_movement(cr, &row, &curve);
    if (ready->kind != LINKAGE_YOKE) /* a pin in a slot pushes straight along */
        draw_transmission(cr, &row, &curve);
}

static double key_entry(cairo_t *cr, double x, struct plot_colour colour, const char *text)
{
    plot_set_colour(cr, colour, 1);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_width(cr, 1.4);
    line(cr, (struct point){x, 21}, (struct point){x + 5, 21});
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, x + 7.2, 22, 3, PLOT_LEFT, PLOT_NORMAL, text);
    return x + 14 + plot_text_width(cr, 3, PLOT_NORMAL, text);
}

static void draw_head(cairo_t *cr, const struct linkage *linkage)
{
    char text[64], number[32];
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, MARGIN, 15, 6, PLOT_LEFT, PLOT_BOLD, *linkage->name ? linkage->name : "Linkage");
    signed_number(linkage->low_deg, 0, DEGREE, number, sizeof number);
    snprintf(text, sizeof text, "servo at %s", number);
    double x = key_entry(cr, MARGIN, plot_low, text);
    x = key_entry(cr, x, plot_ink, "servo at neutral");
    signed_number(linkage->high_deg, 0, DEGREE, number, sizeof number);
    snprintf(text, sizeof text, "servo at %s", number);
    key_entry(cr, x, plot_high, text);
}

static void draw_sheet(cairo_t *cr, const void *subject)
{
    const struct linkage_sheet *sheet = subject;
    lettering_prepare(cr);
    int count = sheet->linkage->stage_count;
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    draw_head(cr, sheet->linkage);
    double top = HEAD_HEIGHT;
    for (int i = 0; i < count; i++) {
        draw_row(cr, sheet, i, top);
        top += ROW_HEIGHT + long_action(sheet, i);
    }
    plot_set_colour(cr, plot_soft, 1);
    plot_text(cr, MARGIN, top + 5.5, 2.6, PLOT_LEFT, PLOT_NORMAL,
              "Drawn as it stands, without friction and play. Blades off or drive made "
              "safe before power; the maker's instructions come first.");
}

struct drawing linkage_drawing(const struct linkage_sheet *sheet)
{
    double rows = 0;
    for (int i = 0; i < sheet->linkage->stage_count; i++)
        rows += ROW_HEIGHT + long_action(sheet, i);
    return (struct drawing){
        .width_mm = SHEET_WIDTH,
        .height_mm = HEAD_HEIGHT + rows + FOOT_HEIGHT,
        .draw = draw_sheet,
        .subject = sheet,
        .title = *sheet->linkage->name ? sheet->linkage->name : "Linkage",
    };
}
