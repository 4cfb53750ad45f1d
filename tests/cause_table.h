/* What each cause of error costs: measured photos sorted into groups by what is known of them. */
#ifndef CAUSE_TABLE_H
#define CAUSE_TABLE_H

#include "photo_set.h"

#include <stdio.h>

#define CAUSE_MAX_ROWS 128
#define CAUSE_MAX_REFUSALS 32

struct cause_row {
    const char *cause;                   /* "view", "light" */
    char group[32];                      /* "5 to 10 deg", "sun" */
    int photos;                          /* measurable ones */
    int answered;                        /* of them with status ok; what follows is of these */
    double median_deg, p95_deg, max_deg; /* of each photo's worst arm */
    double median_u_deg;                 /* of those arms */
    int arms, covered;                   /* covered: within 2 u */
    int silent_wrong;
};

/* Photos that no answer is right for. */
struct cause_refusal {
    char what[32]; /* "two-parts" */
    int photos, refused, unsure, false_ok;
};

struct cause_table {
    struct cause_row rows[CAUSE_MAX_ROWS];
    int count;
    struct cause_refusal refusals[CAUSE_MAX_REFUSALS];
    int refusal_count;
    /* Measurable photos without an answer, by reason: ordinary ones and others. */
    int unanswered[VISION_REASON_COUNT][2];
    double *z; /* error / u of every arm answered, signed */
    int z_count;
};

/* Groups without photos are left out. false when out of memory. Free with cause_table_clear. */
bool cause_table_fill(struct cause_table *table, const struct outcome *outcomes, size_t count);
void cause_table_clear(struct cause_table *table);
void cause_table_print(const struct cause_table *table, FILE *to);

/* How far the lens moves a corner of the card in the photo, at most, in pixels. */
double cause_lens_shift_px(const struct truth *truth);

#endif
