/* Messages for the person at the bench, on stderr, one line each: what is wrong, what to do. Words
 * from outside (names, lines of files) may be given as they are: what is not fit to show is
 * replaced (clean_text.h). Safe from several threads. */
#ifndef MESSAGE_H
#define MESSAGE_H

/* "armsquare: ..." on stderr. Returns EXIT_USAGE, so "return fail_usage(...)". */
int fail_usage(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The same, returning EXIT_UNUSABLE. */
int fail_unusable(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The same, returning EXIT_TROUBLE. */
int fail_trouble(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The same of what does not end the command. */
void message_note(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* A file that is not to be written, for what stands there, as safe_file_keeps() says it; option
 * names the way to choose another place, such as "-o FILE". Returns EXIT_USAGE. */
int fail_kept(const char *path, const char *kept, const char *option);
/* The same of one that could not be written, for a reason of errno's kind. Returns EXIT_TROUBLE, or
 * what fail_kept() did where that was the reason. */
int fail_unwritten(const char *path, int reason, const char *option);
/* The same of a folder that could not be made; option: " with --out DIR", "" where it is named
 * without one. Returns EXIT_TROUBLE. */
int fail_unmade(const char *path, int reason, const char *option);

#endif
