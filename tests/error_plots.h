/* Plots of the error table as SVG. */
#ifndef ERROR_PLOTS_H
#define ERROR_PLOTS_H

#include "cause_table.h"

/* Writes error-obliquity.svg, error-resolution.svg, error-share.svg, error-coverage.svg and
 * error-normalised.svg into the folder. The same photos and answers give the same bytes.
 * false, with a message on stderr, when a file cannot be written. */
bool error_plots_write(const char *folder, const struct outcome *outcomes, size_t count,
                       const struct cause_table *table);

#endif
