/* Reading renders, writing card pictures and photos, and the sRGB curve (IEC 61966-2-1). */
#ifndef PHOTO_FILE_H
#define PHOTO_FILE_H

#include <stdbool.h>
#include <stdint.h>

double photo_linear(double srgb); /* both 0..1 */
double photo_srgb(double linear);

/* Three floats per pixel, linear light. */
struct light_map {
    int width, height;
    float *rgb; /* owned */
};

/* A 16-bit RGB PNG holding linear light. Free with light_map_clear. */
bool photo_read_linear_png(const char *path, struct light_map *out);
void light_map_clear(struct light_map *map);

bool photo_write_png(const char *path, const uint8_t *rgb, int width, int height);

struct jpeg_papers {
    int quality;
    bool full_chroma; /* 4:4:4 instead of 4:2:0 */
    bool exif;
    int orientation;
    double focal_mm;   /* 0: left out */
    int equivalent_mm; /* 0: left out */
};

/* Writes whole or not at all. */
bool photo_write_jpeg(const char *path, const uint8_t *rgb, int width, int height,
                      const struct jpeg_papers *papers);

#endif
