/* The arms that reach in over the butt edge from a hub beyond it, where the card lies beside the
 * servo's case: as one part, if that is what the photo shows. */
#ifndef REACHING_H
#define REACHING_H

#include "stage.h"

/* places: what may be a hub on the card itself, best first. *plain: it can only be a horn's arm;
 * otherwise it may be any bar. false when there is none, or what comes in belongs to a part whose
 * hub is, or may be, on the card. */
bool reaching_find(const struct stage *s, const struct part *places, int count, struct part *out,
                   bool *plain);

#endif
