/* JPEG pictures, encoded in memory: the one place from which libjpeg writes. Its own way with an
 * error is to end the program. */
#ifndef JPEG_WRITE_H
#define JPEG_WRITE_H

#include <stdbool.h>
#include <stddef.h>

/* Row y of the picture, 3 bytes (R, G, B) a pixel; called once for each row, from the top. */
typedef const unsigned char *(*jpeg_write_row)(void *context, int y);

/* Encodes a picture; quality 1 to 100. *bytes is the caller's to free. false when there is not
 * enough memory or libjpeg refuses the size; nothing is then left to free. */
bool jpeg_write(int width, int height, int quality, jpeg_write_row row, void *context,
                unsigned char **bytes, size_t *size);

#endif
