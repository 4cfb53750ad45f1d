/* Photos with their truth, measured, and how far each answer is off.
 *
 * A photo's headline error is that of its worst arm among those reported, against the card's x
 * axis, without any hint; for an arm that does not exist, the angle to the nearest that does.
 * Photos that also show an edge or a link to measure against are measured a second time with that
 * reference, counted apart. So is every arm by itself, pointed at a few pixels beside its ends. */
#ifndef PHOTO_SET_H
#define PHOTO_SET_H

#include "truth_file.h"

/* One arm, measured by pointing at it. */
struct pointed_outcome {
    enum vision_status status;
    double error_deg, u_deg; /* NAN where there is no number */
    bool silent_wrong;
};

struct outcome {
    struct truth truth;
    char path[600];
    struct vision_result result;
    double worst_deg, worst_u_deg;            /* of the arm that is furthest off */
    double signed_error_deg[VISION_MAX_ARMS]; /* of each reported arm that is real */
    bool real[VISION_MAX_ARMS];               /* whether reported arm i has a counterpart */
    int covered, compared;                    /* arms within 2 u, arms with a counterpart */
    int invented, missed;
    bool silent_wrong;
    struct vision_result other; /* with the photo's own reference, if it has one */
    double other_worst_deg;
    bool other_silent_wrong;
    struct pointed_outcome pointed[VISION_MAX_ARMS]; /* of each true arm; only where asked for */
    bool true_lens;                                  /* measured with a profile of its lens */
    const struct vision_lens *lens; /* else measured with this one; borrowed; NULL: none */
    bool point;                     /* point at its arms too */
    double corner_px;               /* worst card corner against the truth; -1: no card */
};

/* Every photo of the wanted set ("all": each one) by name, not yet measured. NULL, with a message
 * on stderr, when the folder or a truth cannot be read. Free with free(). */
struct outcome *photo_set_read(const char *folder, const char *set, size_t *count_out);
/* Measures and judges them, on every processor.
 * true_lens: with a profile of each photo's own lens, as good as `armsquare lens` makes them
 * pointed:   every arm by pointing at it too */
void photo_set_measure(struct outcome *outcomes, size_t count, bool true_lens, bool pointed);

#endif
