/* Two states of a set-up side by side: what moved, by how much, and whether that is more than the
 * uncertainty of both findings together. */
#ifndef JOB_COMPARE_H
#define JOB_COMPARE_H

#include "job_words.h"

enum job_change {
    JOB_UNTOUCHED, /* one and the same entry counts in both: not done again */
    JOB_SAME,      /* by less than the uncertainty: whether it moved cannot be told */
    JOB_MAY_HAVE,  /* by hardly more or hardly less than it: nobody should call that either way */
    JOB_MOVED,     /* moved beyond the uncertainty, less than the tolerance surely */
    JOB_MOVED_FAR, /* moved by more than the tolerance, beyond the uncertainty */
    JOB_NEW,       /* done now, not then */
    JOB_GONE,      /* done then, not now */
    JOB_HOLDS,     /* a confirmation that holds in both */
    JOB_TURNED,    /* a confirmation that holds in one of them only */
    JOB_UNSURE,    /* one of the measurements does not vouch for its number: nothing is told */
    JOB_AGAINST,   /* measured against different things: their difference tells nothing */
    JOB_REPLACED,  /* something else was fitted before it was measured: how the old one had moved,
                    * nobody knows */
    JOB_SET_ANEW,  /* what it rests on got another part, or was found elsewhere and set, before it
                    * was measured: how it had moved, nobody knows. Never of links, whose lengths
                    * are their own */
    JOB_CHANGE_COUNT
};

/* What a person reads of so many stations, to follow their number or name: "shows no movement",
 * "moved", ...; of two files, where nothing needs to have moved, "shows no difference", ... */
const char *job_change_words(enum job_change change, bool of_files, int count);
/* For a program, the same for both: "beyond-tolerance" (docs/job.md). */
const char *job_change_code(enum job_change change);

struct job_comparison_row {
    const char *key, *title; /* borrowed from now, or from then for what is no longer planned */
    enum plan_kind kind;
    enum job_change change;
    /* Findings, deg or mm; NAN when there is none. found: the first sure one since then, before
     * anybody set it right; of two files, where none is sure, and of another part, it is now's. */
    double then, found, now;
    double then_expanded, found_expanded, now_expanded;
    bool then_unsure, found_unsure, now_unsure; /* the measurement does not vouch for it */
    /* what it was measured against, as in job_event */
    enum vision_reference_kind then_against, found_against, now_against;
    bool again;                   /* now is another measurement than found */
    double moved, moved_expanded; /* found minus then, U for 95 %; NAN: none is told */
    /* The same as a table shows it, so that its row adds up: the difference of the figures of then
     * and found as job_words.h rounds them, and U, in the coarser one's decimals. */
    double shown_moved, shown_expanded;
    int shown_decimals;
};

/* All of them as a person reads them, what moved most first. */
extern const enum job_change job_change_order[JOB_CHANGE_COUNT];

/* "+0.1 degrees": what was found then, first since, and now, without its "±" (job_sure_words), and
 * by how much it moved, with it; "" where there is none. Strings that the caller frees, NULL when
 * out of memory. */
char *job_then_words(const struct job_comparison_row *row, enum job_script script);
char *job_since_words(const struct job_comparison_row *row, enum job_script script);
char *job_now_words(const struct job_comparison_row *row, enum job_script script);
char *job_row_moved_words(const struct job_comparison_row *row, enum job_script script);

struct job_comparison {
    const char *name; /* what the older state, or the other file, is called; borrowed */
    bool of_files;
    struct job_comparison_row *rows;
    int count;
};

/* Stations are matched by key and kind; those done in neither state are left out. They may be of
 * one job file or of two (of_files), one of which may be a copy of the other: an entry with the
 * same number, time and content is the same entry. Both views must outlive out. false when out of
 * memory. Free with job_comparison_clear(). */
bool job_compare(const struct job_view *then, const struct job_view *now, const char *name,
                 bool of_files, struct job_comparison *out);
/* How many rows tell that. */
int job_comparison_count(const struct job_comparison *comparison, enum job_change change);
void job_comparison_clear(struct job_comparison *comparison);

#endif
