/* What moves the part that is measured at a station, as far as its plan tells. docs/job.md, "What
 * moves a part", has the mechanics. */
#ifndef PLAN_DRIVE_H
#define PLAN_DRIVE_H

#include "plan.h"

enum plan_drive {
    PLAN_DRIVE_OTHER,   /* what is not brought there by a turn of a link: pairs, travels, ... */
    PLAN_DRIVE_SPLINE,  /* a servo's own horn */
    PLAN_DRIVE_SPLINES, /* two horns, each with a servo and a station of its own */
    PLAN_DRIVE_LINK,    /* one link */
    PLAN_DRIVE_PAIR,    /* links that stations of their own set against each other */
    PLAN_DRIVE_SEVERAL, /* several links, whose lengths no station sets */
};

enum plan_drive plan_drive(const struct plan *plan, int station);

/* Whether the station `on` sets what moves this one: the horn of a servo for PLAN_DRIVE_SPLINES,
 * links for PLAN_DRIVE_PAIR. */
bool plan_is_set_at(const struct plan *plan, int station, int on);

#endif
