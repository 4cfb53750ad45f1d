/* What cairo cannot say in a PDF: that it must be printed at its true size. */
#ifndef PDF_TRUE_SIZE_H
#define PDF_TRUE_SIZE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Writes a PDF made by cairo, of at most version 1.4, with the request PrintScaling /None added
 * (ISO 32000-1, Table 150), so that print dialogues offer "actual size" first. A PDF laid out
 * otherwise than expected is written as it is: the request is a help, the sheet says the same in
 * words. false and errno when the stream fails. */
bool pdf_true_size_write(FILE *to, const char *bytes, size_t size);

#endif
