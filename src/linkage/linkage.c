#include "linkage.h"

#include "arithmetic/direction.h"

#include <math.h>
#include <string.h>

/* Which numbers each kind of stage uses. A slider's along, link and measured place are each
 * optional because any one of them is enough; check_parts sees to that. */
static const enum linkage_use uses[][LINKAGE_PART_COUNT] = {
    [LINKAGE_CRANK] = {[LINKAGE_HORN] = LINKAGE_NEEDED,
                       [LINKAGE_HORN_ANGLE] = LINKAGE_OPTIONAL,
                       [LINKAGE_ALONG] = LINKAGE_NEEDED,
                       [LINKAGE_ACROSS] = LINKAGE_OPTIONAL,
                       [LINKAGE_ARM] = LINKAGE_NEEDED,
                       [LINKAGE_ARM_ANGLE] = LINKAGE_OPTIONAL,
                       [LINKAGE_LINK] = LINKAGE_OPTIONAL,
                       [LINKAGE_MEASURED] = LINKAGE_OPTIONAL},
    [LINKAGE_SLIDER] = {[LINKAGE_HORN] = LINKAGE_NEEDED,
                        [LINKAGE_HORN_ANGLE] = LINKAGE_OPTIONAL,
                        [LINKAGE_ALONG] = LINKAGE_OPTIONAL,
                        [LINKAGE_ACROSS] = LINKAGE_OPTIONAL,
                        [LINKAGE_LINK] = LINKAGE_OPTIONAL,
                        [LINKAGE_MEASURED] = LINKAGE_OPTIONAL},
    [LINKAGE_YOKE] = {[LINKAGE_HORN] = LINKAGE_NEEDED, [LINKAGE_HORN_ANGLE] = LINKAGE_OPTIONAL},
    [LINKAGE_PITCH_ARM] = {[LINKAGE_ARM] = LINKAGE_NEEDED, [LINKAGE_ARM_ANGLE] = LINKAGE_OPTIONAL},
};

enum linkage_use linkage_part_use(enum linkage_kind kind, enum linkage_part part)
{
    return uses[kind][part];
}

bool linkage_slides(enum linkage_kind kind)
{
    return kind == LINKAGE_SLIDER || kind == LINKAGE_YOKE;
}

double linkage_shown(enum linkage_kind kind, double out)
{
    return linkage_slides(kind) ? out : out / RAD_PER_DEG;
}

enum quantity_kind linkage_part_kind(enum linkage_kind kind, enum linkage_part part)
{
    if (part == LINKAGE_HORN_ANGLE || part == LINKAGE_ARM_ANGLE)
        return QUANTITY_ANGLE;
    if (part == LINKAGE_MEASURED && !linkage_slides(kind))
        return QUANTITY_ANGLE;
    return QUANTITY_LENGTH;
}

bool linkage_has_wish(const struct linkage_stage *stage)
{
    return stage->kind == LINKAGE_CRANK ||
           (stage->kind == LINKAGE_SLIDER && stage->given[LINKAGE_ALONG]);
}

enum linkage_part linkage_judged_by(const struct linkage_stage *stage)
{
    return stage->given[LINKAGE_LINK] ? LINKAGE_LINK : LINKAGE_MEASURED;
}

struct linkage_stage linkage_stage_default(enum linkage_kind kind)
{
    struct linkage_stage stage = {.kind = kind, .ends = {.step_turns = -1}};
    stage.parts[LINKAGE_HORN_ANGLE].value = 90;
    stage.parts[LINKAGE_ARM_ANGLE].value = 90;
    return stage;
}

static enum linkage_status fail(struct linkage_fault *fault, enum linkage_status status, int stage)
{
    *fault = (struct linkage_fault){.status = status, .stage = stage};
    return status;
}

/* ---- Checks of what was given ------------------------------------------------------------- */

static enum linkage_status check_part(const struct linkage_stage *stage, enum linkage_part part)
{
    double value = stage->parts[part].value, u = stage->parts[part].u;
    if (!stage->given[part])
        return LINKAGE_OK;
    if (linkage_part_kind(stage->kind, part) == QUANTITY_ANGLE)
        return fabs(value) <= 360 && u >= 0 && u <= 360 ? LINKAGE_OK : LINKAGE_BAD_ANGLE;
    bool arm = part == LINKAGE_HORN || part == LINKAGE_ARM || part == LINKAGE_LINK;
    bool sound = fabs(value) <= LINKAGE_LONGEST_MM && u >= 0 && u <= LINKAGE_LONGEST_MM;
    return sound && (value > 0 || !arm) ? LINKAGE_OK : LINKAGE_BAD_LENGTH;
}

static enum linkage_status check_parts(const struct linkage_stage *stage, enum linkage_part *part)
{
    for (int p = 0; p < LINKAGE_PART_COUNT; p++) {
        *part = (enum linkage_part)p;
        if (uses[stage->kind][p] == LINKAGE_NEEDED && !stage->given[p])
            return LINKAGE_MISSING;
        enum linkage_status status = check_part(stage, *part);
        if (status != LINKAGE_OK)
            return status;
    }
    if (stage->given[LINKAGE_LINK] && stage->given[LINKAGE_MEASURED])
        return LINKAGE_CLASH;
    *part = LINKAGE_ALONG;
    if (stage->kind == LINKAGE_SLIDER && !stage->given[LINKAGE_LINK] &&
        !stage->given[LINKAGE_MEASURED] && !stage->given[LINKAGE_ALONG])
        return LINKAGE_MISSING;
    return LINKAGE_OK;
}

static enum linkage_status check(const struct linkage *linkage, struct linkage_fault *fault)
{
    if (linkage->stage_count < 1 || linkage->stage_count > LINKAGE_MAX_STAGES)
        return fail(fault, LINKAGE_EMPTY, -1);
    if (!(linkage->low_deg < 0 && linkage->high_deg > 0 && linkage->low_deg >= -180 &&
          linkage->high_deg <= 180))
        return fail(fault, LINKAGE_BAD_TRAVEL, -1);
    bool slides = false;
    for (int i = 0; i < linkage->stage_count; i++) {
        const struct linkage_stage *stage = &linkage->stages[i];
        if ((stage->kind == LINKAGE_PITCH_ARM) != slides)
            return fail(fault, LINKAGE_BAD_ORDER, i);
        slides = linkage_slides(stage->kind);
        enum linkage_part part;
        enum linkage_status status = check_parts(stage, &part);
        if (status != LINKAGE_OK) {
            fail(fault, status, i);
            fault->part = part;
            return status;
        }
    }
    return LINKAGE_OK;
}

/* ---- One stage ---------------------------------------------------------------------------- */

static enum linkage_status from_fourbar(enum fourbar_status status)
{
    switch (status) {
    case FOURBAR_OK:
        return LINKAGE_OK;
    case FOURBAR_BAD_LENGTH:
        return LINKAGE_BAD_LENGTH;
    case FOURBAR_CANNOT_CLOSE:
        return LINKAGE_CANNOT_CLOSE;
    case FOURBAR_NO_DIRECTION:
        return LINKAGE_NO_DIRECTION;
    case FOURBAR_OUT_OF_REACH:
        break;
    }
    return LINKAGE_DEAD_POINT;
}

/* The same angle, within half a turn of near. */
static double unwrap(double rad, double near_rad)
{
    return near_rad + remainder(rad - near_rad, 2 * M_PI);
}

/* Where the horn's ball lies from the crank's axis, as an angle from the base line that goes on
 * without a step: round with a horn that goes about that axis, else to and fro about the horn's own
 * axis. horn_rad goes on likewise. */
static double ball_from_axis(const struct fourbar *bar, double horn_rad)
{
    double rad = atan2(bar->horn_mm * sin(horn_rad), bar->horn_mm * cos(horn_rad) - bar->base_mm);
    return unwrap(rad, bar->horn_mm > bar->base_mm ? horn_rad : M_PI);
}

static enum linkage_status pose_crank(const struct linkage_ready_stage *stage,
                                      struct linkage_pose *pose)
{
    struct fourbar_pose both[2];
    double horn_rad = pose->horn_rad - stage->base_rad;
    enum fourbar_status status = fourbar_solve(&stage->bar, horn_rad, both);
    if (status != FOURBAR_OK)
        return from_fourbar(status);
    const struct fourbar_pose *one = &both[stage->assembly];
    /* the crank keeps to one side of the line from its axis to the ball */
    double side = stage->assembly == FOURBAR_OPEN ? -M_PI / 2 : M_PI / 2;
    pose->out = unwrap(one->crank_rad, ball_from_axis(&stage->bar, horn_rad) + side) +
                stage->base_rad + stage->turned_rad;
    pose->gain = one->gain;
    pose->transmission_rad = one->transmission_rad;
    return LINKAGE_OK;
}

/* Offset slider-crank: with the ball at (a cos t, a sin t) and the slider's line at y = c,
 * x = a cos t +- w, w^2 = b^2 - (c - a sin t)^2.   Norton, Design of Machinery, 4.6.
 * dx/dt = -a sin t +- (c - a sin t) a cos t / w; w = 0 is the dead point. */
static enum linkage_status pose_slider(const struct linkage_ready_stage *stage,
                                       struct linkage_pose *pose)
{
    double ball_x = stage->horn_mm * cos(pose->horn_rad);
    double ball_y = stage->horn_mm * sin(pose->horn_rad);
    double rise = stage->across_mm - ball_y;
    double w2 = stage->link_mm * stage->link_mm - rise * rise;
    if (!(w2 >= 0))
        return LINKAGE_DEAD_POINT;
    double w = stage->assembly == FOURBAR_OPEN ? sqrt(w2) : -sqrt(w2);
    pose->out = ball_x + w;
    pose->gain = w != 0 ? -ball_y + rise * ball_x / w : INFINITY;
    pose->transmission_rad = atan2(fabs(w), fabs(rise));
    return LINKAGE_OK;
}

/* A pin in a slot square to the slide: x = a cos t. For t near 90 degrees this is the handbook's
 * travel = r sin(theta). */
static enum linkage_status pose_yoke(const struct linkage_ready_stage *stage,
                                     struct linkage_pose *pose)
{
    pose->out = stage->horn_mm * cos(pose->horn_rad);
    pose->gain = -stage->horn_mm * sin(pose->horn_rad);
    pose->transmission_rad = M_PI / 2;
    return LINKAGE_OK;
}

/* The same relation the other way: the arm's ball is carried along x by moved_mm. */
static enum linkage_status pose_pitch_arm(const struct linkage_ready_stage *stage, double moved_mm,
                                          struct linkage_pose *pose)
{
    double cosine = cos(stage->wanted) + moved_mm / stage->arm_mm;
    if (!(fabs(cosine) <= 1))
        return LINKAGE_OUT_OF_RANGE;
    double out = acos(cosine);
    if (sin(stage->wanted) < 0)
        out = -out;
    pose->horn_rad = 0; /* nothing turns before it */
    pose->out = unwrap(out, stage->wanted);
    pose->gain = -1 / (stage->arm_mm * sin(out));
    pose->transmission_rad = atan2(fabs(sin(out)), fabs(cosine));
    return LINKAGE_OK;
}

/* in: what the stage before has moved from where its carries_from has it, radians or mm. */
static enum linkage_status pose_stage(const struct linkage_ready_stage *stage, double in,
                                      struct linkage_pose *pose)
{
    enum linkage_status status = LINKAGE_OK;
    *pose = (struct linkage_pose){.horn_rad = stage->horn_rad + stage->sign * in};
    switch (stage->kind) {
    case LINKAGE_CRANK:
        status = pose_crank(stage, pose);
        break;
    case LINKAGE_SLIDER:
        status = pose_slider(stage, pose);
        break;
    case LINKAGE_YOKE:
        status = pose_yoke(stage, pose);
        break;
    case LINKAGE_PITCH_ARM:
        status = pose_pitch_arm(stage, stage->sign * in, pose);
        break;
    }
    if (status != LINKAGE_OK)
        return status;
    pose->gain *= stage->sign;
    pose->moved = pose->out - stage->neutral;
    return LINKAGE_OK;
}

/* ---- Making ready ------------------------------------------------------------------------- */

/* Link between the driving ball at horn_rad and the driven ball at position. */
static double link_between(const struct linkage_ready_stage *stage, double horn_rad,
                           double position)
{
    if (stage->kind == LINKAGE_CRANK)
        return fourbar_link_for(stage->horn_mm, stage->arm_mm, stage->base_mm,
                                horn_rad - stage->base_rad, position - stage->base_rad);
    if (stage->kind == LINKAGE_SLIDER)
        return hypot(position - stage->horn_mm * cos(horn_rad),
                     stage->across_mm - stage->horn_mm * sin(horn_rad));
    return NAN;
}

/* Sets the length and whatever depends on it. */
static enum linkage_status set_link(struct linkage_ready_stage *stage, double link_mm)
{
    stage->link_mm = link_mm;
    if (stage->kind == LINKAGE_CRANK)
        return from_fourbar(
            fourbar_init(&stage->bar, stage->horn_mm, link_mm, stage->arm_mm, stage->base_mm));
    return link_mm > 0 ? LINKAGE_OK : LINKAGE_BAD_LENGTH;
}

/* Of the two assemblies, the one that stands nearer to position at neutral. */
static enum linkage_status choose_assembly(struct linkage_ready_stage *stage, double in,
                                           double position)
{
    struct linkage_pose pose;
    double distance[2];
    for (int i = 0; i < 2; i++) {
        stage->assembly = (enum fourbar_assembly)i;
        enum linkage_status status = pose_stage(stage, in, &pose);
        if (status != LINKAGE_OK)
            return status;
        distance[i] = fabs(stage->kind == LINKAGE_CRANK ? remainder(pose.out - position, 2 * M_PI)
                                                        : pose.out - position);
    }
    stage->assembly = distance[1] < distance[0] ? FOURBAR_CROSSED : FOURBAR_OPEN;
    return LINKAGE_OK;
}

static void copy_geometry(const struct linkage_stage *from, struct linkage_ready_stage *to)
{
    const struct quantity *part = from->parts;
    double along = part[LINKAGE_ALONG].value, across = part[LINKAGE_ACROSS].value;
    *to = (struct linkage_ready_stage){
        .kind = from->kind,
        .sign = from->seen_from_behind ? -1 : 1,
        .horn_mm = part[LINKAGE_HORN].value,
        .horn_rad = part[LINKAGE_HORN_ANGLE].value * RAD_PER_DEG,
        .arm_mm = part[LINKAGE_ARM].value,
        .across_mm = across,
        .base_mm = hypot(along, across),
        .base_rad = atan2(across, along),
        .wanted = part[LINKAGE_ARM_ANGLE].value * RAD_PER_DEG,
    };
    if (to->kind == LINKAGE_SLIDER)
        to->wanted = along;
    if (to->kind == LINKAGE_YOKE)
        to->wanted = to->horn_mm * cos(to->horn_rad);
}

/* Link and assembly of a stage with a link; in as for pose_stage. */
static enum linkage_status fit_link(const struct linkage_stage *from,
                                    struct linkage_ready_stage *to, double in)
{
    double position = to->wanted;
    if (from->given[LINKAGE_MEASURED])
        position =
            from->parts[LINKAGE_MEASURED].value * (to->kind == LINKAGE_CRANK ? RAD_PER_DEG : 1);
    double link_mm = from->given[LINKAGE_LINK]
                         ? from->parts[LINKAGE_LINK].value
                         : link_between(to, to->horn_rad + to->sign * in, position);
    enum linkage_status status = set_link(to, link_mm);
    if (status != LINKAGE_OK)
        return status;
    if (to->kind == LINKAGE_SLIDER && from->given[LINKAGE_LINK] && !from->given[LINKAGE_ALONG])
        position = to->horn_mm * cos(to->horn_rad) + link_mm; /* the usual way round */
    return choose_assembly(to, in, position);
}

/* Where a stage stands with the servo at neutral: of the same angle the one nearest to the wanted,
 * from which the others then go on. */
static enum linkage_status stand(struct linkage_ready_stage *stage, double in)
{
    struct linkage_pose pose;
    enum linkage_status status = pose_stage(stage, in, &pose);
    if (status != LINKAGE_OK)
        return status;
    stage->neutral = stage->kind == LINKAGE_CRANK ? unwrap(pose.out, stage->wanted) : pose.out;
    stage->turned_rad += stage->neutral - pose.out;
    return LINKAGE_OK;
}

static enum linkage_status prepare_stage(const struct linkage_stage *from,
                                         struct linkage_ready_stage *to, double in)
{
    copy_geometry(from, to);
    if (to->kind == LINKAGE_CRANK && !(to->base_mm > 0))
        return LINKAGE_SAME_AXIS;
    enum linkage_status status = LINKAGE_OK;
    if (to->kind == LINKAGE_CRANK || to->kind == LINKAGE_SLIDER)
        status = fit_link(from, to, in);
    if (status == LINKAGE_OK)
        status = stand(to, in);
    if (status != LINKAGE_OK)
        return status;
    if (to->kind == LINKAGE_SLIDER && !from->given[LINKAGE_ALONG])
        to->wanted = to->neutral; /* no place asked for: where it stands is where it belongs */
    return LINKAGE_OK;
}

/* A horn angle that was given was measured, with the crank that carries the arm as it stands: its
 * error is in it, and must not be counted again. Else how the part was made is all there is. */
static double carries_from(const struct linkage *linkage, const struct linkage_ready *ready, int i)
{
    bool measured =
        i + 1 < linkage->stage_count && linkage->stages[i + 1].given[LINKAGE_HORN_ANGLE];
    return measured ? ready->stages[i].neutral : ready->stages[i].wanted;
}

enum linkage_status linkage_prepare(const struct linkage *linkage, struct linkage_ready *ready,
                                    struct linkage_fault *fault)
{
    struct linkage_fault unread = {0};
    struct linkage_ready made = {.stage_count = linkage->stage_count};
    fault = fault ? fault : &unread;
    *fault = (struct linkage_fault){.status = LINKAGE_OK, .stage = -1};
    if (check(linkage, fault) != LINKAGE_OK)
        return fault->status;
    double in = 0;
    for (int i = 0; i < linkage->stage_count; i++) {
        enum linkage_status status = prepare_stage(&linkage->stages[i], &made.stages[i], in);
        if (status != LINKAGE_OK) {
            fail(fault, status, i);
            fault->part = LINKAGE_LINK;
            return status;
        }
        made.stages[i].carries_from = carries_from(linkage, &made, i);
        in = made.stages[i].neutral - made.stages[i].carries_from;
    }
    *ready = made;
    return LINKAGE_OK;
}

enum linkage_status linkage_adjust(struct linkage_ready *ready, const double *change_mm,
                                   struct linkage_fault *fault)
{
    struct linkage_fault unread = {0};
    struct linkage_ready made = *ready;
    fault = fault ? fault : &unread;
    double in = 0;
    for (int i = 0; i < made.stage_count; i++) {
        struct linkage_ready_stage *stage = &made.stages[i];
        enum linkage_status status = LINKAGE_OK;
        if (stage->kind == LINKAGE_CRANK || stage->kind == LINKAGE_SLIDER)
            status = set_link(stage, stage->link_mm + change_mm[i]);
        if (status == LINKAGE_OK)
            status = stand(stage, in);
        if (status != LINKAGE_OK)
            return fail(fault, status, i);
        in = stage->neutral - stage->carries_from;
    }
    *ready = made;
    return LINKAGE_OK;
}

enum linkage_status linkage_pose(const struct linkage_ready *ready, double servo_deg,
                                 struct linkage_pose *poses, struct linkage_fault *fault)
{
    double in = servo_deg * RAD_PER_DEG, gain = 1;
    for (int i = 0; i < ready->stage_count; i++) {
        const struct linkage_ready_stage *stage = &ready->stages[i];
        enum linkage_status status = pose_stage(stage, in, &poses[i]);
        if (status != LINKAGE_OK) {
            if (fault)
                *fault =
                    (struct linkage_fault){.status = status, .stage = i, .servo_deg = servo_deg};
            return status;
        }
        gain *= poses[i].gain;
        poses[i].servo_gain = gain;
        in = poses[i].out - stage->carries_from;
    }
    return LINKAGE_OK;
}

double linkage_link_wanted(const struct linkage_ready *ready, int stage)
{
    struct linkage_pose poses[LINKAGE_MAX_STAGES];
    if (linkage_pose(ready, 0, poses, NULL) != LINKAGE_OK)
        return NAN;
    return link_between(&ready->stages[stage], poses[stage].horn_rad, ready->stages[stage].wanted);
}
