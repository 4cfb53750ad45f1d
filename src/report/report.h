/* The report about a job: one description of its content (report.c), written as one self-contained
 * HTML page (report_html.c) or as PDF on A4 (report_pdf.c). Content goes straight to the file,
 * photo by photo, so that memory does not grow with their number. */
#ifndef REPORT_H
#define REPORT_H

#include "job/job_store.h"

#include <cairo.h>
#include <stdio.h>

/* How a state is shown: a colour, and always a word beside it. */
enum report_tone {
    REPORT_INK,   /* plain text */
    REPORT_QUIET, /* not done yet */
    REPORT_GOOD,
    REPORT_BAD,   /* adjust */
    REPORT_DOUBT, /* cannot tell */
    REPORT_AGAIN, /* check again */
    REPORT_TONE_COUNT
};
/* sRGB, dark enough on white for small type (contrast 4.5 : 1, WCAG 2.1, 1.4.3). */
extern const unsigned char report_colour[REPORT_TONE_COUNT][3];

struct report_pair {
    const char *name, *value;
};

struct report_cover {
    const char *title, *model, *banner; /* banner "" or what must not be overlooked */
    const char *state, *detail;         /* "Set-up complete", "25 of 25 good" */
    enum report_tone tone;
    const enum report_tone *marks; /* one of each station, in order: how much is done */
    int mark_count;
    /* What is next, and what to do there; next "" when all is done. */
    const char *next, *next_say;
    enum report_tone next_tone;
    int next_station; /* number of its own part in this report, 0: it has none */
    const struct report_pair *facts;
    int fact_count;
};

#define REPORT_MAX_COLUMNS 8

struct report_table {
    const char *kind;  /* one word for the style sheet */
    const char *title; /* what a listener is told it is */
    const char *names[REPORT_MAX_COLUMNS];
    double width_mm[REPORT_MAX_COLUMNS]; /* on paper, in sum REPORT_WIDTH_MM */
    bool number[REPORT_MAX_COLUMNS];     /* set flush right */
    int count;
    int toned; /* the column that carries the row's tone, -1 none */
    int link;  /* the column that leads to the station's own part, -1 none */
};
/* cells: as many as columns. note: "" or what stands below them, across the table. station: number
 * of the part that the row leads to, 0 none. */
struct report_row {
    const char *const *cells;
    enum report_tone tone;
    const char *note;
    int station;
};
#define REPORT_WIDTH_MM 174.0 /* A4 less 18 mm at each side */

/* A drawing in millimetres, origin top left, y down. alt says in words what it shows; caption ""
 * or what must be read even where the drawing is too small to. */
struct report_drawing {
    double width_mm, height_mm;
    void (*draw)(cairo_t *cr, const void *subject);
    const void *subject;
    const char *alt, *caption;
};

/* A JPEG in memory; jpeg NULL: there is only its caption, but its place counts. */
struct report_picture {
    unsigned char *jpeg;
    size_t size;
    int width_px, height_px;
    const char *key;     /* its figure, which the picture may show too small to read */
    const char *caption; /* where it comes from */
    /* NULL, or a word across a picture whose verdict counts no longer. */
    const char *stamp;
    enum report_tone stamp_tone;
};

struct report_station {
    int number;
    const char *title, *state;
    enum report_tone tone;
    const char *action; /* "" or what to do */
    const struct report_pair *pairs;
    int pair_count;
    int pictures;      /* that are going to follow */
    double drawing_mm; /* height of the wide drawing that is, too; 0 none */
};

/* A report being written. Every function may be called once report_*_open() answered one. */
struct report {
    void (*cover)(struct report *r, const struct report_cover *cover);
    void (*section)(struct report *r, const char *title, const char *lead);
    void (*list)(struct report *r, const char *const *items, int count);
    /* Short items under a heading, in columns. */
    void (*names)(struct report *r, const char *title, const char *const *items, int count);
    void (*table)(struct report *r, const struct report_table *table);
    void (*band)(struct report *r, const char *title); /* a heading inside the table */
    void (*row)(struct report *r, const struct report_row *row);
    void (*table_end)(struct report *r);
    /* A station's own part; its ruler, so many pictures and wide drawings follow until the end,
     * and it must stay as long. */
    void (*station)(struct report *r, const struct report_station *station);
    void (*drawing)(struct report *r, const struct report_drawing *drawing);
    void (*picture)(struct report *r, const struct report_picture *picture);
    void (*station_end)(struct report *r);
    bool wants_pictures;             /* false on a run that only counts pages */
    bool (*close)(struct report *r); /* false when anything could not be written; frees r */
};

/* Writers into an open stream that the caller closes; NULL when out of memory. title is borrowed
 * until close. pages: total to print in the footer, 0 unknown. */
struct report *report_html_open(FILE *to, const char *title);
struct report *report_pdf_open(FILE *to, const char *title, int pages);
/* A run that writes nothing and puts the number of pages into *pages at its close. */
struct report *report_pdf_count(const char *title, int *pages);

/* Writes the whole job into r and closes it. all_photos: of earlier measurements, too. against: an
 * older state to compare with; NULL for none. false: see the job's trouble, else errno: what r's
 * stream could not take, or ENOMEM when words are missing in it. */
struct job_comparison;
bool report_write(struct job *job, struct report *r, bool all_photos,
                  const struct job_comparison *against);

/* ---- Pieces ------------------------------------------------------------------------------- */

/* Where a finding lies against its tolerance: the zone, the zone less the uncertainty (accept), the
 * finding with its uncertainty. ISO 14253-1's figure as a ruler. */
struct report_bar {
    double off, expanded, tolerance;
    const char *unit;
    enum report_tone tone;
};
#define REPORT_BAR_WIDTH_MM 80.0
#define REPORT_BAR_HEIGHT_MM 18.0
void report_bar_draw(cairo_t *cr, const void *bar);

/* A stored photo as JPEG of at most REPORT_PICTURE_PX a side; free jpeg with free(). The photo is
 * held in memory whole meanwhile, never two. false when it cannot be decoded. */
#define REPORT_PICTURE_PX 1400
bool report_picture_load(struct job *job, const struct job_photo_row *photo,
                         struct report_picture *out);

#endif
