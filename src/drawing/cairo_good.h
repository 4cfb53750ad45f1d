/* What cairo could not do, as errno tells it. */
#ifndef CAIRO_GOOD_H
#define CAIRO_GOOD_H

#include <cairo.h>
#include <stdbool.h>

/* Whether status is success. Else sets errno to what a person can be told of it: ENOMEM; EILSEQ for
 * text that is not UTF-8; EIO for all others, but what errno holds already for a write that failed
 * in the caller's own function. */
bool cairo_is_good(cairo_status_t status);

#endif
