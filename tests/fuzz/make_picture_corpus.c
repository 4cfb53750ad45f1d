/* Writes a small picture with a measurement inside, as a first corpus for fuzz_picture_record. */
#include "picture/picture_record.h"

#include <stdio.h>
#include <stdlib.h>

#define SIDE 64

int main(int argc, char **argv)
{
    char *path = NULL;
    static uint32_t pixels[SIDE * SIDE];
    for (uint32_t i = 0; i < SIDE * SIDE; i++)
        pixels[i] = i * 0x010203;
    if (argc != 2 || asprintf(&path, "%s/picture.png", argv[1]) < 0) {
        fputs("usage: make_picture_corpus FOLDER\n", stderr);
        return EXIT_FAILURE;
    }
    json_t *measurement = json_pack("{s:s, s:s, s:[f, f]}", "photo", "rudder.jpg", "message",
                                    "2.9 ± 0.2", "arms", 1.0, 2.0);
    bool written =
        picture_record_write(path, SIDE, SIDE, (const uint8_t *)pixels, SIDE * 4, measurement);
    json_decref(measurement);
    free(path);
    return written ? EXIT_SUCCESS : EXIT_FAILURE;
}
