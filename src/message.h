/* Messages for the person at the bench, on stderr, one sentence each: what is wrong, what to do. */
#ifndef MESSAGE_H
#define MESSAGE_H

/* "armsquare: ..." on stderr. Returns EXIT_USAGE, so "return fail_usage(...)". */
int fail_usage(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The same, returning EXIT_UNUSABLE. */
int fail_unusable(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The same, returning EXIT_TROUBLE. */
int fail_trouble(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* A file that could not be written, for a reason of errno's kind; option names the way to choose
 * another place, such as "-o FILE". Returns EXIT_TROUBLE. */
int fail_unwritten(const char *path, int reason, const char *option);

#endif
