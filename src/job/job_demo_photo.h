/* Invented photos for the demonstration: a printed card behind a part, traced through a camera.
 * For the demonstration alone; they prove nothing about accuracy. */
#ifndef JOB_DEMO_PHOTO_H
#define JOB_DEMO_PHOTO_H

#include <stdbool.h>
#include <stdint.h>

enum demo_finish { DEMO_BLACK, DEMO_WHITE, DEMO_SILVER };
enum demo_part {
    DEMO_HORN,  /* tapered arms, a screw in the hub */
    DEMO_CRANK, /* a bearing in the hub */
    DEMO_PLATE, /* a long straight edge with a pivot */
};

struct demo_scene {
    int arms;         /* 1 to 6, evenly spaced */
    double arm_deg;   /* of the first, against the card's x axis */
    double arm_mm;    /* hub to tip */
    double height_mm; /* of the part's face above the card */
    enum demo_finish finish;
    double tilt_deg, tilt_toward_deg; /* how far the camera stands from straight on, and where */
    double roll_deg;
    uint32_t seed; /* of bench, noise and light */
    enum demo_part part;
};

/* Takes the photo and writes it as JPEG of 2016 x 1512. false (errno) when it cannot. */
bool job_demo_photo(const struct demo_scene *scene, const char *path);

#endif
