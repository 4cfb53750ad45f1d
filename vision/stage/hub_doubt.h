/* Whether the place chosen among those found can only be the part's hub. */
#ifndef HUB_DOUBT_H
#define HUB_DOUBT_H

#include "stage.h"

/* A cut slot tells the hub from the far ends when only the hub stands in it. */
bool hub_in_slot(const struct stage *s, const struct part *part);

/* Whether the place can only be the hub. Of three bars that meet at most one is a link. A link may
 * pass for an arm whose end is not seen, and of an arm with a thick far end, either end may be the
 * hub, unless a rod that leaves the far end tells that it is not. Where a rod leaves the place
 * itself, an arm would end in the thicker hub. */
bool hub_is_plain(const struct stage *s, const struct part *part);

/* Whether a place after places[used] is nearly as good a hub and would give another answer. */
bool hub_has_rival(const struct stage *s, const struct part *places, int count, int used);

/* Whether a far thicker place adjoins this one: what leaves it may be half of an arm beside an
 * opening, or only its outer part. */
bool hub_is_outdone(const struct stage *s, const struct part *part);

/* A bar as thick all along as where its hub should be: a screwdriver or a pencil. */
bool hub_is_bare_bar(const struct part *part);

/* Two arms hardly thinner than where their hub should be, neither of which is seen to end: a cable
 * that passes. */
bool hub_passes_by(const struct part *part);

/* A good hub beyond the reach of the chosen one's arms is another part; a place much thinner is one
 * along its link. */
bool hub_of_another_part(const struct part *places, int count, int used);

/* Whether all that a place has for arms lies along a slot that was cut out. */
bool hub_arms_in_slot(const struct stage *s, const struct part *part);

#endif
