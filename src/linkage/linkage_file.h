/* The description of a linkage as a small text that a modeller can write and read: one thing a
 * line, a unit behind each number, '#' starts a remark. docs/linkage.md, "Describing a linkage".
 *
 *     name         Tail
 *     travel       40 deg            # of the servo, each way
 *     crank        front crank       # starts a stage; what follows belongs to it
 *       horn       12 mm u 0.05
 *       along      58 mm
 *       arm        15 mm
 *       link       58.2 mm +- 0.1
 *       thread     M2
 *       fits every half turn
 */
#ifndef LINKAGE_FILE_H
#define LINKAGE_FILE_H

#include "linkage.h"

#include <stdbool.h>
#include <stddef.h>

#define LINKAGE_PROBLEM_SIZE 400

/* An empty linkage: no stage, the servo turning 40 degrees each way. */
struct linkage linkage_empty(void);

/* Takes up one line. false: problem holds a sentence (without a line number), linkage may hold
 * part of what the line said. */
bool linkage_take_line(struct linkage *linkage, const char *line, char *problem, size_t size);

/* Takes up a whole text of lines. false: problem starts with the number of the line. */
bool linkage_take_text(struct linkage *linkage, const char *text, char *problem, size_t size);

/* Words for the ends of a link, shared with the command line: "half turn", "whole turn",
 * "1/6 turn", "any". false when it is none of these. */
bool linkage_take_step(const char *words, double *step_turns);

#endif
