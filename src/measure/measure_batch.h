/* The photos of one "armsquare measure": each on its way from its path to its answer and its
 * annotated picture, many at once. */
#ifndef MEASURE_BATCH_H
#define MEASURE_BATCH_H

#include "arithmetic/combine.h"
#include "measure_options.h"
#include "picture/annotate.h"
#include "result/verdict.h"

#include <stdbool.h>
#include <stddef.h>

/* What the command line asks for; texts are borrowed from it. */
struct measure_asked {
    struct measure_words_given given;
    const char *folder, *output; /* of the pictures; NULL: beside each photo */
    bool no_picture, json, together, card_moved, centred;
    struct verdict_asked verdict; /* tolerance_deg 0: not asked */
};

/* One photo on its way. */
struct measure_shot {
    char *path; /* without its mark */
    enum combine_side side;
    char *picture_path; /* NULL when no picture is wanted */
    struct vision_result result;
    char *line;          /* the JSON, when it is asked for */
    const char *trouble; /* what kept the photo from being measured, beyond result.reason */
    enum annotate_fault picture_fault;
    int picture_errno;
    bool drawn; /* the picture is written */
    bool out_of_memory;
};

struct measure_batch {
    struct measure_asked asked;
    struct measure_shot *shots;
    size_t count, failed; /* failed: photos without an answer */
    bool trouble;         /* an answer or a picture could not be written */
    bool terminal, bold;  /* stderr is one; stdout is one that may show bold letters */
};

/* Copies the paths, 1 or more. EXIT_DONE or EXIT_TROUBLE, the message being out; either way
 * measure_batch_clear ends it. */
int measure_batch_start(struct measure_batch *out, const struct measure_asked *asked,
                        char *const *photos, size_t count);
void measure_batch_clear(struct measure_batch *batch);

/* Finds a place for each picture, measures all photos and prints their answers in their order.
 * EXIT_DONE, photos without an answer being counted in failed, EXIT_USAGE for a place that will not
 * do, or EXIT_TROUBLE; the messages are out. */
int measure_batch_run(struct measure_batch *batch);

/* "name: sentence", the line that stands out; the name is shown clean. */
void measure_batch_headline(const struct measure_batch *batch, const char *name,
                            const char *sentence);
/* The lines of a text, or none of NULL, below it. */
void measure_batch_lines(const char *text);

#endif
