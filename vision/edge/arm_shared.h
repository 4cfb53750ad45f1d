/* What all arms of one part in one photo have in common, and estimates that are put together. */
#ifndef ARM_SHARED_H
#define ARM_SHARED_H

struct estimate {
    double value, u; /* u = 0: nothing known */
};

/* What all arms of one part in one photo have in common, before it is measured and after. */
struct arm_shared {
    struct estimate thickness_mm;   /* between the edges that the two sides of an arm show */
    struct estimate tint_step_mm;   /* how much further out the edge seems over the second tint:
                                     * cameras bend brightness, so the middle of the rise moves */
    struct estimate shade_shift_mm; /* the same for each doubling of the card's brightness against
                                     * the part's, as between light and shadow */
};

/* What is known beforehand, for image pixels of this size on the card. */
struct arm_shared arm_shared_usual(double pixel_mm);

/* Adds an independent estimate to sum: weighted mean. Estimates with u = 0 say nothing. */
void estimate_combine(struct estimate *sum, struct estimate more);

#endif
