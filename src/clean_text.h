/* Text from outside (file names above all) made fit to show. */
#ifndef CLEAN_TEXT_H
#define CLEAN_TEXT_H

/* A copy that is valid UTF-8 without control characters: each byte or character that is not fit
 * becomes '?'. Owned by the caller (free); NULL when there is no memory. */
char *clean_text(const char *text);

#endif
