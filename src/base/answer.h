/* Answers on standard output. Whether they could be written is looked after once, at the end of
 * main(): a full disk or a closed pipe concerns every command alike. */
#ifndef ANSWER_H
#define ANSWER_H

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>

/* A JSON string of text from outside, such as a file's name, as clean_text() makes it: JSON is
 * UTF-8, and jansson has no string of anything else. NULL without memory. */
json_t *answer_text(const char *text);

/* A JSON number, or null where it is not known: JSON has no NaN or infinity. */
json_t *answer_number(double value);

/* The object and a line's end; flags as for json_dumps. Takes json, which may be NULL for lack of
 * memory. EXIT_DONE, or EXIT_TROUBLE after a message that memory is short. */
int answer_print_json(json_t *json, size_t flags);

/* What fail_unusable() says and, as_json, the same as an object with "status": "failed" and
 * "message". EXIT_UNUSABLE, or EXIT_TROUBLE for lack of memory. */
int answer_refuse(bool as_json, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* For a command that is made of others, whose names stand first: its overview on stderr and
 * EXIT_USAGE without a word, on stdout and EXIT_DONE for --help or -h; -1: find the name. */
int answer_overview(int argc, char **argv, void (*print)(FILE *to));

/* EXIT_DONE. */
int answer_print_help(const char *text);

/* After the command: status, or EXIT_TROUBLE after a message when something could not be written.
 */
int answer_end(int status);

#endif
