/* A whole advice for reading: at the bench, or by another program. */
#ifndef ADVICE_REPORT_H
#define ADVICE_REPORT_H

#include "advice.h"
#include "result/verdict.h"
#include "vision.h"

#include <jansson.h>
#include <stdio.h>

/* What the advice rests on besides its question. */
struct advice_source {
    const char *photo;                  /* NULL: from numbers */
    const struct vision_result *result; /* of the photo, else zeros */
    const char *unsure;                 /* sentence: why the photo is unsure; NULL when it is not */
    const char *unsure_code;            /* its short code; NULL when it is not */
    bool arms_by_default;               /* nobody said how many arms the horn has */
    bool arm_by_default;                /* nobody said which arm is in use */
    bool arms_have_angles;              /* false: only a deviation was given */
    bool could_turn_over;  /* nothing forbids it, but no reading turned over was given */
    bool turned_by_number; /* turned_deg was typed */
    bool list_all;         /* every position, not only the best tooth of each arm and side */
    char undecided[VERDICT_UNDECIDED]; /* what to do where the photo cannot tell; "" else */
};

void advice_print(FILE *to, const struct advice_question *question, const struct advice *advice,
                  const struct advice_source *source);

/* The same as one JSON object; a new reference, NULL without memory. */
json_t *advice_to_json(const struct advice_question *question, const struct advice *advice,
                       const struct advice_source *source);

#endif
