/* One photo to make: every parameter of its scene, its camera and its development, drawn from
 * its number and seed alone. */
#ifndef CASE_H
#define CASE_H

#include "camera.h"
#include "draw.h"
#include "shape.h"

#include <stdbool.h>

enum negative {
    NEGATIVE_NONE,
    NEGATIVE_NO_CARD,
    NEGATIVE_NO_CARD_NO_PART,
    NEGATIVE_NO_PART,
    NEGATIVE_FAR,
    NEGATIVE_BLURRED,
    NEGATIVE_HIDDEN_MARKERS,
    NEGATIVE_WASHER,
    NEGATIVE_BLOB,
    NEGATIVE_CABLE,
    NEGATIVE_DARK,
    NEGATIVE_BURNT,
    NEGATIVE_STEEP,
    NEGATIVE_MIXED_CARDS,
    NEGATIVE_SCREWDRIVER,
    NEGATIVE_HAND,
    NEGATIVE_KNOB,
    NEGATIVE_CABLE_WASHER,
    NEGATIVE_PRINTED_PAPER,
    NEGATIVE_FACE_DOWN,
    NEGATIVE_TWO_PARTS,
    NEGATIVE_ELSEWHERE,
    NEGATIVE_CUT_OFF,
    NEGATIVE_PENCIL,
    NEGATIVE_COUNT
};

enum light_kind {
    LIGHT_WINDOW,
    LIGHT_LAMP,
    LIGHT_TWO_LAMPS,
    LIGHT_OVERCAST,
    LIGHT_FLASH,
    LIGHT_DIM,
    LIGHT_RAKING,
    LIGHT_CEILING,
    LIGHT_SUN,
    LIGHT_RING,
    LIGHT_COLOURED,
    LIGHT_SCREEN,
    LIGHT_MIXED,
    LIGHT_COUNT
};

/* A thing lying about. What the numbers mean depends on the kind: scene.c. */
enum item_kind {
    ITEM_SCREWDRIVER,
    ITEM_HEX_KEY,
    ITEM_LOOSE_SCREW,
    ITEM_NUT,
    ITEM_WASHER,
    ITEM_CABLE,
    ITEM_PENCIL,
    ITEM_TAPE,
    ITEM_FINGER,
    ITEM_FRAME_PLATE,
    ITEM_EDGE_BLOCK,
    ITEM_SERVO,
    ITEM_PAPER,
    ITEM_DUST,
    ITEM_BLOB,
    ITEM_KNOB,
    ITEM_TEXT_SHEET,
    ITEM_CHEQUERS,
    ITEM_CUP,
};

struct item {
    enum item_kind kind;
    struct vec3 at;
    double turn_deg, size_mm, size2_mm;
    double colour[3];
};

#define CASE_MAX_ITEMS 40

struct ball_link {
    bool ball, ball_below, cup;
    double ball_mm;   /* radius */
    double at_mm;     /* from the hub along the arm */
    double ball_z_mm; /* centre, from the plate's mid plane */
    double link_deg;  /* local frame of the part, leaving the ball */
    double rod_mm;    /* radius */
    double rod_reach_mm;
    int rod_texture, ball_texture;
};

/* A crank deep in a model, told by a sticker on it; the scene's frame is that of what does not
 * turn, a card or a fixed sticker. The crank is the case's part. */
struct hidden_crank {
    const struct vision_sticker *sticker; /* NULL: the photo is none of a hidden crank */
    const struct vision_sticker *fixed;   /* NULL: the card */
    int series;
    enum crank_shot { CRANK_ONE_END, CRANK_OTHER_END, CRANK_NEUTRAL, CRANK_SHOTS } shot;
    double turned_deg;            /* about its axis; that of other photos is what counts */
    double at_deg, radius_mm;     /* of the sticker from the axis, local frame, turned by nothing */
    double height_mm;             /* its middle over the plate's mid plane */
    double glued_deg;             /* its x axis, likewise */
    double lean_deg, lean_to_deg; /* its slope against the plate, likewise */
    double paper_sheen, paper_roughness;
    bool boom;         /* at the end of a boom; otherwise in a frame, behind an opening */
    double opening_mm; /* radius of the opening round the axis */
    double floor_mm;   /* frame: the plate's face; boom: the case's face; card frame */
    double along_deg;  /* the way plates or boom run */
    int material;      /* of plates or boom */
    bool shaded;       /* something beside the camera shades a part of it from the light */
    struct vec3 shade; /* its middle */
};

/* A servo beside the card, one side of its case against the butt edge. Its shaft stands at the
 * case's hub. */
struct butted_servo {
    bool there;
    double half_mm;             /* half the width of the case: from the shaft to the butt edge */
    double length_mm;           /* the shaft stands half_mm from one end */
    double depth_mm, lug_mm;    /* from the case's top down to its floor and to its lugs */
    double top_mm;              /* the case's top over the card's face */
    double boss_mm, boss_up_mm; /* round the shaft: radius, and height over the case's top */
    double shaft_up_mm;         /* likewise */
    double turn_deg;
    int material;
    bool end_on;  /* the case's end touches; otherwise one of its long sides */
    bool mounted; /* hangs in a plate by its lugs; otherwise it stands on the bench */
    bool block;   /* something of its height lies under the card */
};

/* Fields stand by subject, not by size. NOLINTNEXTLINE(*-optin.performance.Padding) */
struct photo_case {
    char name[64];
    int index;
    uint64_t seed;
    bool kept, fresh, second; /* second: of the set's second part, case_second.c */
    bool quick;               /* rendered with few samples a pixel: one of a long series */
    enum negative negative;

    /* the card */
    const struct vision_card *card;
    bool cut;
    double card_thick_mm, sheen, bend_per_mm, bend_deg;
    double ink_black, ink_fade, ink_tone[2][3]; /* how the printer prints: card_picture.h */

    /* the part, placed by part_to_card */
    bool has_part;
    char design[24], finish[24];
    double plastic[3]; /* colour of finish "plastic" */
    struct shape shape;
    struct vec3 hub;                    /* hub axis in the plate's mid plane, card frame */
    double tilt_deg, tilt_toward_deg;   /* of the arm plane against the card */
    struct vec3 axis_x, axis_y, axis_z; /* the part's local axes in the card frame */
    int screw_drive;
    double screw_mm, screw_turn_deg; /* radius; 0: no screw */
    double post_mm;                  /* radius of the shaft under the part */
    bool clamp; /* a clamp screw through the shape's ear, an alloy ring on top */
    struct ball_link links[SHAPE_MAX_ARMS];
    struct hidden_crank crank;
    struct butted_servo servo;
    bool off_card[SHAPE_MAX_ARMS]; /* arms with no card behind them: the truth lists none */

    /* round about */
    int item_count;
    struct item items[CASE_MAX_ITEMS];
    double bench_z_mm, bench_turn_deg;
    int bench;

    enum light_kind light;
    struct vec3 lamp[2];
    double lamp_rgb[2][3], lamp_size_mm[2];
    double room_low[3], room_high[3];

    /* the view */
    struct camera camera;
    double beyond_mm; /* how far beyond the butt edge the photo must show */
    double roll_deg, fill, equivalent_mm;
    int orientation;
    bool exif_focal, exif_any;

    /* the development: develop.h */
    double soft_px, defocus_px, motion_px, motion_deg;
    double depth_blur_px; /* radius per relative difference of depth from focus_mm; 0: none */
    double focus_mm;      /* depth at which the photo is sharp */
    double noise, stops, white_balance, sharpen, tone;
    int quality;
    bool full_chroma;

    enum vision_reference_kind reference;
    double reference_deg;           /* card frame */
    struct vec3 reference_ends[2];  /* on the reference, card frame */
    struct vision_point hint_px[2]; /* rough */

    char causes[8][24];
    int cause_count;
};

struct set_options {
    uint64_t seed;
    bool fresh, hard;
    bool lens;        /* all by one camera whose lens bends; the first CASE_LENS_CARDS show the card
                         alone, all over the picture and tilted every way */
    bool stickers;    /* CRANK_SHOTS photos of each hidden crank, in the order of enum crank_shot */
    bool butted;      /* horns that reach over the butt edge of a card beside the servo */
    bool second;      /* with fresh: draws like those of the set's second part */
    bool large;       /* the same photos as a phone takes them, of 12 megapixels */
    const char *tint; /* NULL: as drawn */
};

#define CASE_LENS_CARDS 9

/* How many photos the standing set has. */
int case_set_size(void);
/* Draws case `index`. */
void case_draw(struct photo_case *c, int index, const struct set_options *options);
/* Whether the card lies there face up. */
bool case_shows_card(const struct photo_case *c);
/* From the part's local frame to the card's. */
struct vec3 case_part_to_card(const struct photo_case *c, struct vec3 local);
/* The frame of a hidden crank's sticker in the card's: x, y and z axis and the marker's middle. */
void case_sticker_frame(const struct photo_case *c, struct vec3 frame[4]);
/* A point of that sticker. */
struct vec3 case_sticker_to_card(const struct photo_case *c, double x_mm, double y_mm);
/* Hub to tip of an arm against the card's x axis as projected into the arm plane, [0, 360). */
double case_arm_angle_deg(const struct photo_case *c, int arm);

#endif
