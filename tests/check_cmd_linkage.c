/* armsquare linkage as people run it: the shipped examples, files judged by outside programs, and
 * mistakes answered in one sentence with the right exit status. */
#include "check_main.h"
#include "outside.h"

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* Runs "armsquare linkage WORDS" in the scratch directory, in which "examples" leads to the shipped
 * descriptions and "photos" to the test photos: lines break where they do wherever the project
 * lies. Standard output goes to the file "out", standard error to said. */
static int run_linkage(char *said, size_t said_size, const char *words)
{
    return outside_run(said, said_size,
                       "cd '%s' && ln -sfn '%s' examples && ln -sfn '%s' photos && "
                       "'%s' linkage %s >out",
                       outside_directory(), EXAMPLES_FOLDER, PHOTOS_FOLDER, ARMSQUARE_PROGRAM,
                       words);
}

static void read_out(char *text, size_t size)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/out", outside_directory());
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    text[fread(text, 1, size - 1, file)] = '\0';
    fclose(file);
}

static void must_say(const char *words, const char *expected)
{
    char said[2048], out[16384];
    int status = run_linkage(said, sizeof said, words);
    ck_assert_msg(status == 0 && !said[0], "%s: status %d, %s", words, status, said);
    read_out(out, sizeof out);
    ck_assert_msg(strstr(out, expected) != NULL, "%s: \"%s\" is not in\n%s", words, expected, out);
}

/* How often text has what. */
static int count_in(const char *text, const char *what)
{
    int count = 0;
    for (const char *at = text; (at = strstr(at, what)); at += strlen(what))
        count++;
    return count;
}

/* One degree on, and it jams: there is no figure. */
#define SPENT                                                                                      \
    "solve --horn '12 u 0.5' --along '58 u 0.5' --arm '15 u 0.5' --arm-angle 150 "                 \
    "--horn-angle '60 u 1' --travel '5 deg'"

/* What each mode tells the person at the bench. The figures follow from r sin(theta) and the ISO
 * 261 pitches; check_station and check_linkage check the arithmetic behind them. */
static const struct {
    const char *words, *expected;
} answers[] = {
    {"solve examples/dunlin-tail.txt", "front crank: turn the link end in by 1 1/2 turns"},
    {"solve examples/dunlin-throttle.txt", "throttle arm: make the link"},
    {"solve examples/dunlin-elevator.txt", "elevator bellcrank: leave its link for now: 1.5 ± 1.5 "
                                           "degrees counter-clockwise may be nothing "
                                           "at all. Measure again"},
    {"solve examples/dunlin-elevator.txt", "swashplate            46.00 ± 0.23             - mm"},
    {"solve examples/dunlin-elevator.txt --json", "\"measure_first\": true"},
    /* as "turns" judges them (docs/linkage.md); 15 sin(0.45) = 0.12 mm is more than half a step */
    {"solve --horn 12 --along 58 --arm 15 --measured 90.45u0.02 --thread M2",
     "crank: leave its link: 0.45 ± 0.04 degrees counter-clockwise is within the tolerance of 0.5"},
    {"solve --horn 12 --along 58 --arm 15 --measured 90.45u0.02 --thread M2 --tolerance 0.1",
     "crank: turn the link end"},
    {"solve --horn 12 --along 58 --arm 15 --measured 92 --thread M2",
     "crank: change nothing yet: write behind the measured position how well it is known, such as "
     "\"92 u 0.2\". If it is right: turn the link end"},
    {"solve --horn 12 --along 58 --arm 15 --measured 90.4 --thread M2", "is right: leave its link"},
    {"solve --horn 12 --along 58 --arm 15 --measured 93 --thread M2 --json", "\"turns\": null"},
    {"solve --horn 12 --along 58 --arm 15 --measured 93 --thread M2 --json", "\"bare\": true"},
    {"solve --horn 12 --along 58 --arm 15 --measured 90.4 --thread M2 --json",
     "\"within_tolerance\": false"},
    {"solve --horn 12 --along 58 --arm 15 --link 58.5",
     "\"58.5 u 0.05\". If it is right: make the"},
    /* 1.96 x 0.02 = 0.04 (docs/measure.md, "The answer"); without an uncertainty one decimal */
    {"solve --horn 12 --along 58 --arm 15 --measured 90.6u0.02 --thread M2",
     "\n  crank                 90.60 ± 0.04 "},
    {"solve --horn 12 --along 58 --arm 15 --measured 90.6u0.02 --thread M2",
     "± 0.04 degrees clockwise remain."},
    {"solve --horn 12 --along 58 --arm 15 --arm-angle 91",
     "\n  crank                         91.0 "},
    /* hand arithmetic: (58 + 15 cos t)^2 + (15 sin t - 12)^2 = 58.6^2 at t = 88.0 */
    {"solve examples/dunlin-tail.txt",
     "\nTaken so\n  tail crank: its horn is taken to be square where front crank stands as wanted, "
     "so at 88.0 degrees now; a line \"horn angle\" says what was measured.\n  pitch slider: its "
     "horn"},
    {"solve examples/dunlin-tail.txt --json", "\"horn_deg\": null"},
    {"solve --help", "of a\n                       later part as measured, the crank before"},
    {SPENT, "one degree at the horn, crank                                 -                -"},
    /* one standard uncertainty on, no loop: hypot(40, 12) + 8 = 49.76 */
    {"solve --horn 12 --along 40 --arm 8 --link '48 u 2' --travel 8",
     "length of the link          -\n"},
    {"solve --horn 12 --along 40 --arm 8 --link '48 u 2' --travel 8 --thread M2 --json",
     "\"turns\": null"},
    {"solve --horn 12 --along 40 --arm 8 --link '48 u 2' --travel 8 --thread M2 --json",
     "\"measure_first\": true"},
    {"solve - <examples/dunlin-tail.txt", "blade grip"},
    {"centre --tolerance 3 -- -32.1u.1 28.2u.1 0u.1", "within the tolerance of 3"},
    {"solve examples/dunlin-tail.txt", "(degrees: + is counter-clockwise, - clockwise; mm:"},
    {"solve --horn 12 --along 60 --arm 12 --travel 30", "-30.0 degrees"},
    {"turns '91.8 u 0.2' --arm 15 --thread M2 --longer cw",
     "turn the link end out by 1 turn (0.40 mm longer)"},
    {"turns '91.8 u 0.2' --arm 15 --thread M2 --longer CW", "turn the link end out by 1 turn"},
    /* 15 mm x 1.8 degrees = 0.471 mm = 1.5 x 0.45 - 0.5 x 0.4 and 0.004 mm */
    {"turns '91.8 U 0.4' --arm 15 --thread M2 --far-thread M2.5",
     "turn the far end by 1 1/2 turns, the way that moves the arm clockwise as seen in the photo, "
     "and the link end by 1/2 turn the other way, the one out and the other in (0.48 mm in all)"},
    /* 0.851 mm: 1 x 0.4 + 1 x 0.45 */
    {"turns 93.25 --arm 15 --thread M2 --far-thread M2.5",
     "and the link end by 1 turn likewise, both out or both in (0.85 mm in all)"},
    /* 15 sin(1.91) = 0.500 mm: one turn of the far end alone */
    {"turns 88.09 --arm 15 --thread M2 --far-thread '0.5 mm'",
     "turn the far end by 1 turn (0.50 mm)"},
    /* 15 sin(1.8) - 0.4 = 0.071 mm, 0.27 degrees short of home */
    {"turns 91.8u0.2 --arm 15 --thread M2", "0.3 ± 0.4 degrees counter-clockwise remain."},
    {"turns 88.2u0.2 --arm 15 --thread M2", "0.3 ± 0.4 degrees clockwise remain."},
    /* half a turn of M3 is 0.25 mm: asin(0.25 / 6) = 2.4 degrees */
    {"turns 90.7u0.05 --arm 6 --thread M3 --longer ccw",
     "leave the link as it is: the smallest turn that fits, 0.25 mm, moves the arm 2.4 degrees, "
     "too "
     "coarse for the 0.7 ± 0.1 degrees"},
    /* 8 mm x sin(0.8) = 0.11 mm, less than half of 0.25 */
    {"level '0.8 u 0.1' --span 8 --thread M3", "smallest turn of the link that fits, 0.25 mm, is"},
    {"turns 130 --arm 15 --thread M2 --longer cw", "Watch: so many turns may leave too little"},
    {"centre 10 128 91 --arm 14 --thread M2 --longer ccw --ends stops", "Watch: so many turns"},
    /* 10 mm and a turn of 0.5 mm: asin(0.5 / 10) = 2.9 degrees, of which 1.5 are too much */
    {"turns 91.5u0.05 --arm 10 --thread M3 --fits-every 'whole turn'",
     "1.4 ± 0.1 degrees clockwise remain. That is more than the 0.5 degrees allowed, and no turn "
     "that fits (the smallest is 0.50 mm) leaves clearly less"},
    {"centre 51u0.1 128u0.1 91.1u0.1 --ends stops --arm 10 --thread M3 --fits-every 'whole turn'",
     "That is more than the 0.5"},
    {"solve --horn 10 --along 50 --arm 10 --measured 91.5u0.05 --thread M3 --fits-every 'whole "
     "turn'",
     "That is more than the 0.5 degrees allowed"},
    {"solve --horn 10 --along 50 --arm 10 --measured 91.2u0.05 --thread M3 --fits-every 'whole "
     "turn'",
     "leave the link as it is; 1.2 ± 0.1 degrees counter-clockwise remain. That is more than"},
    /* 8 sin(1.9) = 0.265 mm: 2 out and 3 in give 0.35, 4 out and 5 in 0.25 */
    {"turns 91.9u0.05 --arm 8 --thread M3 --far-thread M2.5 --longer ccw --fits-every 'whole turn'",
     "the link end out by 4 turns and the far end in by 5 turns (0.25 mm shorter); 0.1 ± 0.1 "
     "degrees"},
    {"level 20u1 --span 64 --thread M2", "Watch: so many turns"},
    {"pair 64u0.02 58u0.02 --arm 13.5 --thread M2", "Watch: so many turns"},
    /* (58.42 + 58.10) / 2 - 58 and its U, 1.96 hypot(0.02 / sqrt(2), 0.3); 50 (0.26 + 0.59 - 0.05)
     */
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --base 58u0.3 --stiffness 50 --play 0.05",
     "strained +0.260 ± 0.589 and +0.260 ± 0.589 mm, 10.5 N (0.0 to 39.9)"},
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --base 58u0.3",
     "Both links are 0.26 ± 0.59 mm too long"},
    {"pair 58.42u0.02 58.42u0.02 --arm 13.5 --base 58",
     "Watch: as they are, both links are 0.42 ± 0.03 mm too long"},
    /* a turn of 0.4 mm takes 0.2 off what both are too long */
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --thread M2 --base 57.8u0.02",
     "Watch: that done, both links are 0.26 ± 0.05 mm too long"},
    /* 20 (cos 50 - cos 60) and 20 (cos 60 - cos 70) */
    {"turns 80u0.1 --wanted 90 --arm 20 --link-angle 60 --longer ccw", "2.86 mm longer"},
    {"angle 90:80u0.1 90.5:80.5u0.1 --arm 20 --link-angle 60 --longer ccw", "2.86 mm longer"},
    {"turns 100u0.1 --wanted 90 --arm 20 --link-angle 60 --longer ccw", "3.16 mm shorter"},
    {"turns 70u0.1 --arm 15 --thread M2 --longer ccw --link-angle 60", "length (--link) makes it"},
    /* 30 - hypot(30 + 15 (cos 60 - cos 40), 15 (sin 60 - sin 40)) = 3.776 */
    {"turns 70u0.1 --arm 15 --longer ccw --link-angle 60 --link 26.22", "3.78 mm longer"},
    {"turns -3 --wanted 0 --arm 15", "0.79 mm longer or shorter"},
    {"turns 90.1u0.1 --arm 15", "leave it"},
    {"turns 90.4u0.3 --arm 15", "measure better before deciding, to ± 0.10 or less."},
    /* of two alike 0.1 / sqrt(2), of two ends and neutral 0.3 / sqrt(1.5): JCGM 100:2008, 5.1.2 */
    {"parallel '90±0.4' '90.4±0.4'", "deciding, each angle to ± 0.07 or less."},
    {"parallel '90±0.07' '90.4±0.07'", "leave it."},
    {"centre '30±0.3' '-31.6±0.3' '0±0.3' --ends stops", "each angle to ± 0.24 or less"},
    {"turns 90.6u0.2 --arm 15", "to ± 0.10 or less, or set it nearer, clockwise."},
    {"turns 90.5u0.2 --arm 15", "it lies at the limit, which no measurement settles"},
    /* what "measure" says of the same photo (docs/measure.md, "The answer") */
    {"turns photos/tune-111-slotted-black-matt.jpg --arm 15 --thread M2",
     "Do: measure again: three photos with measure --together; or set it nearer, clockwise."},
    {"turns photos/kept-127-single-black-matt.jpg --arm 15 --thread M2",
     "Do: a better photo would not settle it: leave it, or allow a larger limit."},
    {"pair '58.42 u 0.02' '58.10 u 0.02' --arm 13.5 --thread M2",
     "first link: turn the link end in by 1 turn (0.40 mm shorter); 0.08 ± 0.06 mm, the second "
     "link longer, remain."},
    {"pair 58u0.02 58u0.02 --arm 13.5", "leave both"},
    {"pair 58.18u0.01 58.1u0.01 --arm 13.5 --thread M2 --within 0.05",
     "turn neither: the smallest turn that fits, 0.20 mm"},
    /* a turnbuckle is turned by any amount (common practice, no source): 0.15 mm can be mended */
    {"pair 58.25u0.01 58.10u0.01 --arm 13.5 --thread M2 --turnbuckle",
     "unequal: more than 0.10 mm (common practice).\n  Do: first link: turn the turnbuckle by "
     "0.19"},
    /* half of half a turn of M3 (0.5 mm, ISO 261) is 0.125; a better measurement turns nothing */
    {"pair 41.42u0.005 41.30u0.005 --arm 13.5 --thread M3", "cannot be told from 0.125 mm (half"},
    {"pair 41.42u0.005 41.30u0.005 --arm 13.5 --thread M3", "turn neither: the smallest turn that"},
    {"pair 41.6u0.01 41.3u0.01 --arm 13.5 --play 0.1", "more than 0.10 mm (the play of the ball"
                                                       " links).\n"},
    {"pair '58.42 u 0.02' '58.10 u 0.02' --arm 13.5",
     "  high end   crank turned 0.88 ± 0.15 degrees clockwise\n  The crank gives way; the links "
     "are not "
     "strained.\n"},
    /* the horn at 30 degrees passes through 0, 40 degrees of travel on; at 55 it stops at 15 */
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --angle 30",
     "  Watch: within the travel the horn passes the line of the axes."},
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --angle 30", "  low end    cannot be told: the horn"},
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --angle 30 --json", "\"low\": null"},
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --angle 150", "  high end   cannot be told: the horn"},
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --angle 45", "comes within 10 degrees of the line"},
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --angle 55 --json", "\"warning\": null"},
    {"pair 58.42u0.02 58.10u0.02 --arm 13.5 --angle 30", "(strained: + is pressed together, - is"},
    {"pair --help", "job measure FILE STATION PHOTO --first-link"},
    {"pair '58.42 u 0.2' '58.25 u 0.2' --arm 13.5 --thread M2",
     "  Do: turn neither: measure both again, better, first.\n"},
    {"centre '51.0 u 0.2' '128.4 u 0.2' '91.2 u 0.2' --arm 14 --thread M2",
     "end points to 93 % (first end) and 100 % (second end)"},
    {"centre 50u.1 120u.1 90u.1 --at -25:100u.1 --at -50:110u.1 --at -75:120u.1",
     "Binds on the way to the second end: from 75"},
    /* 37.2 of 38 degrees: a linkage does that without a stop */
    {"centre 51u0.2 128.4u0.2 91.2u0.2 --scale 0.38u0.001",
     "end points to 93 % (first end) and 100 % (second end)"},
    {"centre 51u0.2 128.4u0.2 91.2u0.2 --scale 0.38u0.001",
     "at the second end: cannot tell. The part goes 0.8"},
    {"centre 51u0.2 128.4u0.2 91.2u0.2 --scale 0.38u0.001 --json", "\"binds\": null"},
    /* 37.2 / 0.6 = 62: below that 61 % give 36.6, which the first side has at 36.6 / 0.402 */
    {"centre 51u0.2 128.4u0.2 91.2u0.2 --scale 0.6u0.001",
     "Binds on the way to the second end: from 62"},
    /* horn 12, crank 15, axes 58 apart, servo 40 degrees each way, no stop: "solve" gives the ends
     * and 0.80 crank per horn at neutral, and check_fourbar has it from Norton */
    {"centre 59.23u0.2 121.11u0.2 90u0.2 --scale 0.32u0.002",
     "End points: leave them: the throws are equal as far as these angles tell."},
    /* 40 and 40.8, with twice neutral's U, 1.18, in what they differ */
    {"centre 40u0.04 -40.8u0.04 0u0.3 --arm 15", "End points: leave them"},
    {"centre 40u0.04 -40.8u0.04 0u0.3 --json", "\"end_points\": null"},
    {"centre 51u0.2 127.7u0.2 90u0.2", "End points: leave them until neutral is known better."},
    {"centre 40u0.04 -40.8u0.04 0u0.3 --throw 30", "Do: set the end points to 75 %"},
    {"centre 59.23u0.2 121.11u0.2 90u0.2 --scale 0.32u0.002",
     "Stop or linkage at the first end: cannot tell. The part goes 1.2"},
    /* first the horn, second the crank, as a job has them (docs/job.md) */
    {"parallel 90.4u0.2 92.1u0.2", "turn the second arm clockwise by 1.7 degrees"},
    {"parallel 88u0.1 92u0.1 --arm 13 --thread M2", "Second arm against the first: 4.0"},
    {"parallel 88u0.1 92u0.1 --arm 13 --thread M2", "that moves the second arm clockwise as seen"},
    {"level '1.8 u 0.1' --span 64", "raise the left end by 2.01"},
    /* across a shaft, as a job's station: 64 sin(0.8) = 0.89 */
    {"level '90.8 u 0.1' --span 64", "Edge, across the reference: 0.8 ± 0.2 degrees counter-"},
    {"level '90.8 u 0.1' --span 64", "raise the left end by 0.89"},
    {"level '1.8 u 0.1' --span 64 --thread M2.5",
     "If a longer link lifts it: turn the link end out by 4 1/2 turns"},
    {"angle idle=45:47.2u0.3 full=135:133.1u0.3", "full: 1.9 ± 0.6 degrees clockwise"},
    /* 3.2 / 0.45 is 7 %; of 100 places 3.6 degrees apart the best is 0.4 off, which takes 1 % */
    {"travel --scale 0.45u0.01 --off 3.2u0.2 --teeth 25 --arms 4",
     "Do: no sub-trim yet: it would take -7 %, more than 2 %; another tooth or arm\n"
     "    first (\"armsquare advise\" says which). The best is about 0.4 degrees off,\n"
     "    which takes +1 %: measure again there.\nWith sub-trim +1 % the servo turns\n"},
    {"travel --scale 0.45 --off 30u0.2",
     "Do: no sub-trim yet: it would take -67 %, more than 2 %; look"},
    {"travel --scale 0.45 --off 30", "With sub-trim -67 % the servo would turn"},
    /* one arm on 10 teeth: every 36 degrees, 17 is left at best */
    {"travel --scale 0.45 --off 17u0.2 --teeth 10",
     "even the best tooth\n    and arm would take -38 %"},
    {"travel --scale 0.45u0.001 --off 0.8u0.2",
     "Do: sub-trim -2 % (exactly -1.78); 0.10 ± 0.39 degrees clockwise remain."},
    /* as "advise": 0.4 and U 0.02 are within 0.5, and no sub-trim is needed */
    {"travel --scale 0.45 --off 0.4u0.01",
     "Do: no sub-trim: the horn is within the tolerance of 0.5 degrees."},
    {"travel --scale 0.45 --off 0.4u0.01", "With sub-trim 0 % the servo"},
    {"travel --scale 0.45 --off 0.4u0.01 --json", "\"sub_trim_kind\": \"within\""},
    {"travel --scale 0.45u0.001 --off 0.4u0.01 --tolerance 0.2", "Do: sub-trim -1 %"},
    /* as "advise --deviation 1.2u0.1" (docs/advice.md, "Sub-trim"): 2.7 % are too much, and 2 % of
     * 0.45 leave 0.3, with U = 1.96 hypot(0.1, 2 x 0.01) = 0.20 within 0.5. Hand arithmetic. */
    {"travel --scale 0.45u0.01 --off 1.2u0.1 --teeth 25 --arms 1",
     "Do: sub-trim -2 % (exactly -2.67); 0.30 ± 0.20 degrees counter-clockwise\n    remain, within "
     "the "
     "tolerance of 0.5 degrees.\nWith sub-trim -2 % the servo turns\n"},
    {"travel --scale 0.45u0.01 --off -1.2u0.1", "Do: sub-trim +2 %"},
    {"travel --scale 0.45u0.01 --off 1.2u0.1 --json",
     "\"sub_trim\": {\n    \"percent\": -2.0,\n    \"exact_percent\": -2.66666667,\n"
     "    \"cut_by_limit\": false"},
    {"travel --scale 0.45u0.01 --off 1.2u0.1 --json", "\"sub_trim_kind\": \"use\""},
    /* 1.6 - 0.9 = 0.7, and 0.7 + 0.2 within 1 */
    {"travel --scale 0.45u0.01 --off 1.6u0.1", "no sub-trim yet: it would take -4 %"},
    {"travel --scale 0.45u0.01 --off 1.6u0.1 --tolerance 1",
     "Do: sub-trim -2 % (exactly -3.56); 0.70 ± 0.20 degrees counter-clockwise\n    remain, within "
     "the "
     "tolerance of 1 degree.\n"},
    /* of 100 places 3.6 degrees apart the best is 1.2 off */
    {"travel --scale 0.45u0.01 --off 4.8u0.1 --teeth 25 --arms 4",
     "The best is about 1.2 degrees off,\n    which takes -2 %: measure again there."},
    /* every 1.8 degrees: 0.6 left, which 1 % mends, is better than 0.3 by 2 %; so "advise", too */
    {"travel --scale 0.45u0.01 --off 1.2u0.1 --teeth 25 --arms 8",
     "The best is about 0.6 degrees off,\n    which takes +1 %: measure again there."},
    /* a coarser radio: 3 is nearest to 2.31, its last step within 2 % is 1.5; 1.04 - 0.675 = 0.365
     */
    {"travel --scale 0.45u0.001 --off 1.04u0.02 --step 1.5", "Do: sub-trim -1.5 %"},
    {"travel --scale 0.45 --off 0.4u0.01 --tolerance 1", "the tolerance of 1 degree.\n"},
    {"turns 90.4u0.1 --arm 15 --tolerance 1", "within the tolerance of 1 degree.\n"},
    {"turns 90.4 --arm 15 --tolerance 1", "against the tolerance of 1 degree without an"},
    {"solve --horn 12 --along 58 --arm 15 --measured 90.45u0.02 --thread M2 --tolerance 1",
     "within the tolerance of 1 degree.\n"},
    {"travel --scale 0.45 --off 0.3u0.2", "Do: no sub-trim: what is off is no more than the"},
    /* 15 (sin(45 - 10) + sin 10) and 15 (sin(45 + 10) - sin 10); its mirror image is the same */
    {"travel --scale 0.45 --off 10 --arm 15", "left off square it would be 11.21 and 9.68 mm"},
    {"travel --scale -0.45 --off -10 --arm 15", "left off square it would be 11.21 and 9.68 mm"},
    {"travel --scale 0.45 --off 0.2u0.01 --tolerance 0.1",
     "Do: no sub-trim: what is off is less than half a step of 1 %."},
    {"travel --scale 0.45 --off 30u0.2 --json", "\"sub_trim_kind\": \"over limit\""},
    {"travel --scale 0.44 --throw 45", "102 % for 45.0 degrees each way; 0.12 degrees too little"},
    /* 40 / 0.45 = 88.9 %; the sub-trim of -2 % must be added to the low end, taken off the high */
    {"travel --scale 0.45u0.01 --off 0.9u0.1 --throw 40", "end points 89 % for 40.0 degrees each"},
    /* 150 less the sub-trim's 2, and 67 - 148 x 0.45 = 0.4; by the same options the other way
     * round 66.6 degrees are what it gives */
    {"travel --scale 0.45u0.01 --off 0.9u0.05 --throw 67",
     "end points 148 % for 67.0 degrees each"},
    {"travel --scale 0.45u0.01 --off 0.9u0.05 --throw 67", "too little. The radio's limit is too"},
    {"travel --scale 0.45u0.01 --off 0.9u0.05 --low-percent 148 --high-percent 148",
     "66.6 and 66.6 degrees (low, high) on a radio whose ends move along\n"},
    {"travel --scale 0.45u0.01 --off 0.9u0.05 --throw 0.3", "Where they stay, no end point gives"},
    {"travel --scale 0.45u0.01 --off 0.9u0.1 --throw 40", "stay: 91 % (low) and 87 % (high)."},
    {"travel --scale -0.45u0.01 --off 0.9u0.1 --throw 40", "stay: 87 % (low) and 91 % (high)."},
    {"travel --degrees-per-us 0.09 --us-per-percent 5 --throw 45", "end points 100 %"},
    {"--help", "usage"},
    {"solve --help", "example"},
    {"turns --help", "example"},
    {"pair --help", "example"},
    {"centre --help", "example"},
    {"parallel --help", "example"},
    {"level --help", "example"},
    {"angle --help", "example"},
    {"travel --help", "example"},
};

START_TEST(modes_answer_with_an_action)
{
    must_say(answers[_i].words, answers[_i].expected);
}
END_TEST

/* Every mode's JSON is one JSON text (read by jansson) that carries the key. */
static const struct {
    const char *words, *key;
} objects[] = {
    {"solve examples/dunlin-tail.txt --json", "parts"},
    {"turns 91.8u0.2 --arm 15 --thread M2 --json", "cure"},
    {"pair 58.42 58.1 --arm 13.5 --json", "difference_mm"},
    {"centre 51u.2 128u.2 91u.2 --json", "end_points"},
    {"parallel 92.1 90.4 --json", "off_deg"},
    {"level 0.8 --span 64 --json", "right_end_higher_mm"},
    {"travel --scale 0.45 --off 3.2 --json", "sub_trim"},
};

START_TEST(json_can_be_read_back)
{
    char said[2048], path[1024];
    json_error_t error;
    ck_assert_int_eq(run_linkage(said, sizeof said, objects[_i].words), 0);
    snprintf(path, sizeof path, "%s/out", outside_directory());
    json_t *json = json_load_file(path, 0, &error);
    ck_assert_msg(json != NULL, "%s: %s", objects[_i].words, error.text);
    ck_assert_ptr_nonnull(json_object_get(json, objects[_i].key));
    json_decref(json);
}
END_TEST

/* As "advise" has it: with no uncertainty nothing is accepted or rejected, however near or far, nor
 * where one number of several has none. What the number would ask for is told as that. */
START_TEST(a_number_without_its_uncertainty_decides_nothing)
{
    static const char *const words[] = {
        "turns 90.1 --arm 15 --thread M2",
        "turns 90.6 --arm 15 --thread M2",
        "parallel 92.1 90.4u0.2",
        "level 20 --span 64",
        "centre 51u0.2 128.4 91.2u0.2",
        "angle a=90:91 b=45:46u0.2 c=135:137u0.2",
        "angle 90:91",
    };
    char out[16384], json[512];
    for (size_t i = 0; i < COUNT(words); i++) {
        must_say(words[i], "not to be judged against the tolerance of 0.5 degrees without an");
        must_say(words[i], "change nothing yet: write behind each number how well it is known");
        snprintf(json, sizeof json, "%s --json", words[i]);
        must_say(json, "\"decision\": \"cannot tell\"");
        read_out(out, sizeof out);
        ck_assert_msg(strncmp(words[i], "centre", 6) != 0 || strstr(out, "\"cure\": null"), "%s",
                      out);
    }
    must_say("turns 90.6 --arm 15 --thread M2", "If the numbers are right: turn the link end");
    must_say("pair 58.42 58.1 --arm 13.5 --thread M2",
             "than the second: not to be judged against 0.10 mm (half the smallest turn of the "
             "link end) without an uncertainty.\n  Do: change nothing yet: write behind each "
             "length how well it is known, such as 58.42u0.02. If the lengths are right: first "
             "link: turn the link end in by 1 turn");
    must_say("centre 50 120 90 --at -50:110 --at -75:120",
             "Stops: cannot tell, as long as nobody knows how good these numbers are.");
    read_out(out, sizeof out);
    ck_assert_msg(!strstr(out, "Binds") && !strstr(out, "set the end"), "%s", out);
    must_say("centre 50 120 90 --throw 30", "End points: leave them until it is known how good");
    must_say("centre 51u0.2 128.4u0.2 91.2u0.2 --scale 0.6",
             "Stops by --scale: cannot tell; write");
    read_out(out, sizeof out);
    ck_assert_msg(!strstr(out, "Binds"), "%s", out);
    must_say("travel --scale 0.45 --off 0.8",
             "Do: change nothing yet: write behind --off how well it is known, such as --off\n"
             "    3.2u0.2. If the number is right: sub-trim -2 %");
    must_say("travel --scale 0.45 --off 0.8u0.2",
             "Do: change nothing yet: write behind --scale how well it is known");
    must_say("travel --scale 0.45 --off 0.8u0.2 --json", "\"sub_trim_kind\": \"cannot tell\"");
    must_say("travel --scale 0.45 --off 0.8", "With sub-trim -2 % the servo would turn");
    must_say("travel --scale 0.45 --off 0.4", "If the number is right: no sub-trim: the horn");
    must_say("travel --scale 0.45 --off 0.8 --json", "\"sub_trim_kind\": \"cannot tell\"");
}
END_TEST

/* A tolerance is told as it was given, and a deviation in the decimals of "measure". */
START_TEST(a_verdict_tells_the_tolerance_as_given)
{
    must_say(
        "turns 90.22u0.01 --arm 15 --thread M2 --tolerance 0.25",
        "Arm: 0.22 ± 0.02 degrees counter-clockwise as seen in the photo: within the tolerance "
        "of 0.25 degrees.");
    must_say("turns 90.22u0.01 --arm 15 --thread M2 --tolerance 0.05", "tolerance of 0.05 degrees");
    must_say("turns 91.8u0.2 --arm 15", "Arm: 1.8 ± 0.4 degrees");
}
END_TEST

/* Exit status 2 for wrong words, 3 for what cannot be; one sentence on standard error, nothing on
 * standard output, no file left behind. */
static const struct {
    const char *words;
    int status;
} mistakes[] = {
    {"juggle", 2},
    {"solve", 2},
    {"solve --horn twelve --along 58 --arm 15", 2},
    {"solve --horn 12 --along 58 --arm 15 --step 0", 2},
    {"solve --horn 12 --along 58 --arm 15 -o drawing.txt", 2},
    {"solve examples/dunlin-tail.txt --horn 12", 2},
    {"solve examples/dunlin-tail.txt examples/dunlin-tail.txt", 2},
    {"solve nowhere.txt", 3},
    {"solve .", 3},
    {"solve /dev/zero", 3},
    {"solve --horn 12 --along 58 --arm 15 --link 90", 3},
    {"solve --horn 20 --along 50 --arm 15 --link 48 --arm-angle 80 --travel 80", 3},
    {"solve --horn -12 --along 58 --arm 15", 3},
    {"solve --horn 12 --along 58", 3},
    {"solve --horn 12 --along 1e30 --arm 15", 3},
    {"solve --horn 12 --along 58 --arm 15 --link 90 -o a.png --csv a.csv", 3},
    {"solve --horn 12 --along 58 --arm 15 --step 0 -o a.png --csv a.csv", 2},
    {"solve --horn 12 --along 58 --arm 15 --csv a.job", 2},
    {"solve --horn 12 --along 58 --arm 15 --csv /dev/full", 2},
    {"pair 58 80 --arm 13 -o a.svg", 3},
    {"centre 51 60 91 -o a.pdf", 3},
    {"angle a=b:c -o a.svg", 2},
    {"pair 58.4u0.02 58.1u0.02 --arm 13.5 --height 8 --distance 11", 3}, /* cm */
    {"turns", 2},
    {"turns 91.8", 2},
    {"turns 400 --arm 15 --thread M2", 2},
    {"turns 91 --wanted -361 --arm 15", 2},
    {"angle 45:400", 2},
    {"angle 400:45", 2},
    {"angle 55:235u0.2 --arm 15 --thread M2", 3}, /* read from the other end: 180 degrees */
    {"angle 45:46 90:91 --arm 12 --link-angle 80", 2},
    {"turns 80 --wanted 90 --arm 20 --link-angle 60", 2},
    {"parallel 92 90 --arm 20 --link-angle 60", 2},
    {"parallel 10 100 --arm 12 --thread M2", 3}, /* as a job's station: more than 45 degrees */
    {"parallel 10u1 55.1u1", 3},
    {"turns 91.8 --arm 15 --thread 3mm", 2}, /* M3 has 0.5 mm (ISO 261), no link 3 mm */
    {"turns 91.8 --arm 15 --thread '2 mm'", 2},
    {"turns 91.8 --arm 15 --thread M2 --far-thread M3 --turnbuckle", 2},
    {"level 2 --span 60 --thread M2 --far-thread M3 --turnbuckle", 2},
    /* which of two ways is meant its own "±" leaves open (ISO 14253-1), as for turns */
    {"level 44.95u0.2 --span 30", 3},
    {"level 134.95u0.2 --span 30", 3},
    {"pair 58 58.4 --arm 13 --thread M2 --far-thread M3 --turnbuckle", 2},
    {"solve --horn 12 --along 58 --arm 15 --thread M2 --far-thread M3 --turnbuckle", 2},
    {"travel --scale 0.45 --off 45.1", 2}, /* square is the nearer one (README.md) */
    {"travel --scale 0.45 --off 97.3u0.1 --teeth 25 --arms 2", 2},
    {"turns much --arm 15", 2},
    /* of two values none is left out in silence */
    {"turns 91.8u0.2 --arm 15 --arm 30 --thread M2", 2},
    {"turns 91.8u0.2 --arm 15 --bars level --bars upright", 2},
    {"solve --horn 12 --along 58 --arm 15 --step 1 --step 2", 2},
    {"solve --horn 12 --along 58 --arm 15 -o a.svg --output b.svg", 2},
    {"turns nowhere.jpg --arm 15", 3},
    {"turns nowhere.jpg:B --arm 15", 3},
    {"turns photos/20260301 --arm 15", 3},
    {"turns 91.8 --arm 15 --longer sideways", 2},
    /* nothing is taken that changes nothing */
    {"level 2 --longer sideways", 2},
    {"level 2 --link-angle 33", 2},
    {"level 2 --arm 15", 2},
    {"pair 58 58 --arm 13 --longer cw", 2},
    {"pair 58 58 --arm 13 --link-angle 33", 2},
    {"turns 91.8 --arm 15 --thread M99", 2},
    {"turns 91.8 --arm", 2},
    {"turns 91.8 --arm 15 --tolerance -1", 2},
    {"pair 58 58 --arm 13 --play -1", 2},
    {"turns 91.8 --arm=-15", 2},
    {"turns 200 --arm 15 --wanted 90", 3},
    {"turns out --arm 15", 3}, /* a file, but no photo */
    {"pair 58", 2},
    {"pair 58 x --arm 13", 2},
    {"pair 58 80 --arm 13", 3},
    {"pair 58.42u0.02 58.42u0.02 --arm 13.5 --base 53", 3}, /* 5.42 mm too long */
    {"pair 5 5 --arm 13", 3},
    {"pair 58 58 --arm 13 --height 400 --distance 300", 3},
    {"centre 350u0.1 50u0.1 200u0.1", 3}, /* 200 for 20 */
    {"centre 51 128", 2},
    {"centre 51 128 90 --ends hinge", 2},
    {"centre 51 60 91", 3},
    {"centre 51 128 90 --at fast:3", 2},
    {"centre 51 128 90 --limit 0", 2},
    /* a second reading at one percent switched the search for the stop off */
    {"centre 51u0.2 128u0.2 90u0.2 --at 50:70u0.2 --at 75:56u0.2 --at 75.0:56.1u0.2", 2},
    {"centre 51u0.2 128u0.2 90u0.2 --at 50:70u0.2 --at 75:56u0.2 --at 100:51.1u0.2", 2},
    {"centre 51u0.2 128u0.2 90u0.2 --second-percent 90 --at -90:128.1u0.2", 2},
    {"centre 51u0.2 128u0.2 90u0.2 --at 0:95u0.2", 2},
    {"centre 54u0.2 127.3u0.2 90u0.2 --at 50:110u0.2", 3},
    {"centre 54u0.2 127.3u0.2 90u0.2 --at -50:70", 3},
    {"centre 54u0.2 127.3u0.2 90u0.2 --at 120:130", 3},
    {"centre 90u0.1 90.1u0.1 90.05u0.1", 3}, /* did it move at all? */
    {"parallel 1", 2},
    {"parallel photos/dunlin-rudder.jpg:A photos/dunlin-rudder.jpg:B", 2}, /* of one horn */
    {"level", 2},
    {"angle 45", 2},
    {"angle a=b:c", 2},
    {"travel", 2},
    {"travel --scale 0", 2},
    {"travel --scale 0.45 --teeth 2.5", 2},
    {"travel --scale 0.45 extra", 2},
    /* what no servo, radio or model has: the limits of "advise" */
    {"travel --scale 45", 2},
    {"travel --scale 0.0001", 2},
    {"travel --degrees-per-us 1 --us-per-percent 5", 2},
    {"travel --scale 0.45 --step 0", 2},
    {"travel --scale 0.45 --limit 1e6", 2},
    {"travel --scale 0.45 --arm 1e9", 2},
    {"travel --scale 0.45 --throw -5", 2},
    {"centre 51 128 90 --scale 0", 2},
    {"centre 51 128 90 --scale 45", 2},
    {"centre 51 128 90 --step 0", 2},
    {"centre 51 128 90 --first-percent 1000", 2},
    {"centre 51 128 90 --arm 1e9 --thread M2", 2},
    {"turns 91.8 --arm 1e9", 2},
    {"pair 1e9 1e9 --arm 13.5", 2},
    {"travel --scale 0.45 --warp 9", 2},
};

/* A pair that cannot be told apart, or needs no change, names no link to turn. */
START_TEST(a_pair_names_a_link_only_where_one_has_to_change)
{
    static const struct {
        const char *words, *equal;
        bool change;
    } pairs[] = {
        {"pair '58.42 u 0.2' '58.25 u 0.2' --arm 13.5 --thread M2 --json", "cannot tell", false},
        {"pair 58u0.02 58u0.02 --arm 13.5 --thread M2 --json", "accept", false},
        {"pair 58.42u0.02 58.1u0.02 --arm 13.5 --thread M2 --json", "reject", true},
        {"pair 58.14u0.01 58.1u0.01 --arm 13.5 --thread M2 --json", "accept", false},
        /* nobody knows how good these are */
        {"pair 58.42 58.1 --arm 13.5 --thread M2 --json", "cannot tell", false},
        {"pair 58.42u0.02 58.1 --arm 13.5 --thread M2 --json", "cannot tell", false},
        {"pair 58 58 --arm 13.5 --thread M2 --json", "cannot tell", false},
        {"pair 64 63 --height 20u1 --distance 300u5 --arm 13.5 --json", "cannot tell", false},
        /* 0.08 mm is less than half of half a turn, 0.2 mm */
        {"pair 58.18u0.01 58.1u0.01 --arm 13.5 --thread M2 --within 0.05 --json", "reject", false},
    };
    static const char *const keys[] = {"turn", "longer_mm", "turns_out"};
    char said[2048], path[1024];
    for (size_t i = 0; i < COUNT(pairs); i++) {
        ck_assert_int_eq(run_linkage(said, sizeof said, pairs[i].words), 0);
        snprintf(path, sizeof path, "%s/out", outside_directory());
        json_t *json = json_load_file(path, 0, NULL);
        ck_assert_str_eq(json_string_value(json_object_get(json, "equal")), pairs[i].equal);
        for (size_t k = 0; k < COUNT(keys); k++) {
            const json_t *value = json_object_get(json, keys[k]);
            ck_assert_ptr_nonnull(value);
            ck_assert_msg(json_is_null(value) != pairs[i].change, "%s: %s", pairs[i].words,
                          keys[k]);
        }
        json_decref(json);
    }
}
END_TEST

/* As "measure" says of a photo. */
START_TEST(a_file_that_is_not_there_is_told_what_to_do)
{
    char said[4096];
    ck_assert_int_eq(run_linkage(said, sizeof said, "solve nowhere.txt"), 3);
    ck_assert_str_eq(said,
                     "armsquare: \"nowhere.txt\" cannot be read: there is no such file; check "
                     "its name and where it lies.\n");
    ck_assert_int_eq(run_linkage(said, sizeof said, "solve ."), 3);
    ck_assert_ptr_nonnull(
        strstr(said, "\".\" cannot be read: it is a folder; name the file in it."));
}
END_TEST

START_TEST(mistakes_get_one_sentence)
{
    char said[4096], out[64];
    int status = run_linkage(said, sizeof said, mistakes[_i].words);
    ck_assert_msg(status == mistakes[_i].status, "%s: status %d, said %s", mistakes[_i].words,
                  status, said);
    ck_assert_msg(strncmp(said, "armsquare: ", 11) == 0 && strchr(said, '\n') &&
                      strchr(said, '\n')[1] == '\0',
                  "%s: said %s", mistakes[_i].words, said);
    read_out(out, sizeof out);
    ck_assert_msg(!out[0], "%s printed %s", mistakes[_i].words, out);
    ck_assert_int_eq(outside_run(said, sizeof said,
                                 "find '%s' -mindepth 1 ! -type l -printf '%%P\\n'",
                                 outside_directory()),
                     0);
    ck_assert_msg(strcmp(said, "out\n") == 0, "%s left %s", mistakes[_i].words, said);
}
END_TEST

/* Drawings: the PDF by poppler, the PNG by pngcheck, the SVG by librsvg. */
START_TEST(drawings_are_read_by_outside_programs)
{
    char said[4096];
    must_say("solve examples/dunlin-tail.txt -o tail.pdf --csv tail.csv", "Dunlin tail");
    must_say("centre 51u.2 128u.2 91u.2 -o centre.png", "Travel");
    must_say("angle idle=45:47.2u0.3 -o angle.svg", "idle");
    must_say("pair 58.4u.02 58.1u.02 --arm 13.5 --thread M2 -o pair.png", "first link");
    const char *dir = outside_directory();
    ck_assert_int_eq(outside_run(said, sizeof said, "pdfinfo '%s/tail.pdf'", dir), 0);
    ck_assert_ptr_nonnull(strstr(said, "Pages:           1"));
    ck_assert_int_eq(outside_run(said, sizeof said, "pngcheck -q '%s/centre.png'", dir), 0);
    ck_assert_int_eq(outside_run(said, sizeof said, "pngcheck -q '%s/pair.png'", dir), 0);
    ck_assert_int_eq(
        outside_run(said, sizeof said, "rsvg-convert '%s/angle.svg' -o '%s/drawn.png'", dir, dir),
        0);
}
END_TEST

/* docs/linkage.md: positive when the larger throw is at the high end, so a horn that stands the
 * other way round has the other sign. The drawing says what the text says. */
START_TEST(a_drawing_keeps_the_sign_of_the_differential)
{
    char said[4096];
    must_say("solve --horn 12 --along 58 --arm 15 --link '58.6 u 0.05' -o minus.pdf",
             "-1.1 ± 0.4 %");
    must_say("solve --horn 12 --along 58 --arm 15 --link '57.4 u 0.05' -o plus.pdf",
             " 3.9 ± 0.4 %");
    const char *dir = outside_directory();
    ck_assert_int_eq(outside_run(said, sizeof said, "pdftotext '%s/minus.pdf' -", dir), 0);
    ck_assert_msg(strstr(said, "differential \xe2\x88\x92"
                               "1.1 \xc2\xb1 0.4 %") != NULL,
                  "%s", said);
    ck_assert_int_eq(outside_run(said, sizeof said, "pdftotext '%s/plus.pdf' -", dir), 0);
    ck_assert_msg(strstr(said, "differential 3.9 \xc2\xb1 0.4 %") != NULL, "%s", said);
}
END_TEST

/* Horn 12, crank 14, axes 58 and link 56.2 mm: "solve", which check_fourbar has from Norton, puts
 * the crank at 97.52 and its ends, 40 degrees of servo each way, at 65.52 and 132.86. Neutral
 * lies 1.67 clockwise of their middle. With 55.8, half a millimetre shorter, all three go
 * counter-clockwise, by 1.65, 1.84 and 2.24, and it lies 2.07 clockwise of it: worse. 58.1 would be
 * right. */
#define SERVO_ENDS "centre 65.52u0.1 132.86u0.1 97.52u0.1 --arm 14 --thread M2 --longer cw"

START_TEST(a_link_is_turned_only_where_the_ends_stay)
{
    static const struct {
        const char *words, *says, *never;
    } rows[] = {
        {SERVO_ENDS, "first find out what ends the travel", "turn the link"},
        {SERVO_ENDS, "If the servo makes both ends, and no stop:\n  Do: set", "turn the link"},
        {SERVO_ENDS " --ends servo", "The counter-clockwise throw is 3.3", "turn the link"},
        {SERVO_ENDS " --ends servo --json", "\"cure\": null", "turn the link"},
        {SERVO_ENDS " --ends servo --json", "\"ends\": \"servo\"", "turn the link"},
        {SERVO_ENDS " --json", "\"ends\": null", "turn the link"},
        /* ends that stay: 14 sin(1.67) = 0.41 mm */
        {SERVO_ENDS " --ends stops", "turn the link end in by 1 turn (0.40 mm shorter)",
         "Do: set the end points"},
        {SERVO_ENDS " --ends stops --json", "\"end_points\": null", "find out"},
        {SERVO_ENDS " --ends stops --scale 1.5u0.01", "Binds", "above stays"},
        /* the second end is a jam (40 degrees by the scale), and so is the middle that it makes */
        {"centre 51u0.2 110u0.2 89.7u0.2 --scale 0.4u0.01 --arm 14 --thread M2",
         "first free the part on the way to the second end", "turn the link"},
        {"centre 51u0.2 128.4u0.2 89.7u0.2", "leave it", "find out"},
    };
    char out[16384];
    for (size_t i = 0; i < COUNT(rows); i++) {
        must_say(rows[i].words, rows[i].says);
        read_out(out, sizeof out);
        ck_assert_msg(!strstr(out, rows[i].never), "%s: %s", rows[i].words, out);
    }
}
END_TEST

/* What the text says the end points hold for, the drawing does too. */
START_TEST(a_drawing_says_what_its_end_points_hold_for)
{
    static const struct {
        const char *words, *says;
    } rows[] = {
        {"centre 51u0.2 128.4u0.2 91.2u0.2", "and no stop: end points 93 %"},
        {"centre 51u0.2 128.4u0.2 91.2u0.2 --ends servo", "End points: 93 %"},
        {"centre 51u0.2 128.4u0.2 91.2u0.2 --ends stops", "Turn it clockwise"},
    };
    char said[4096], words[512];
    for (size_t i = 0; i < COUNT(rows); i++) {
        snprintf(words, sizeof words, "%s -o off.pdf", rows[i].words);
        must_say(words, "Neutral off the middle");
        ck_assert_int_eq(outside_run(said, sizeof said,
                                     "pdftotext '%s/off.pdf' - | tr -s '\n ' ' '",
                                     outside_directory()),
                         0);
        ck_assert_msg(strstr(said, rows[i].says) != NULL, "%s", said);
    }
}
END_TEST

/* The longest orders stand whole on the paper, whatever the drawing. Poppler gives the lines back
 * as they are broken. */
START_TEST(a_drawing_never_cuts_an_order)
{
    static const struct {
        const char *words, *end;
    } orders[] = {
        {"solve --horn 15 --along 123.45u0.1 --arm 15 --link 126.5u0.1", "degrees off now."},
        {"solve --horn 12 --along 58 --arm 15 --link 58.6u0.01 --thread M2 --far-thread M2.5",
         "remain."},
        {"turns 130 --arm 15 --thread M2 --far-thread M2.5", "check the lengths first."},
        {"pair 64 58 --arm 13.5 --thread M2 --far-thread M2.5", "check the lengths first."},
        {"level 40u1 --span 64.5 --thread M2 --far-thread M2.5", "check the lengths first."},
    };
    char said[8192], words[512];
    for (size_t i = 0; i < COUNT(orders); i++) {
        snprintf(words, sizeof words, "%s -o order.pdf", orders[i].words);
        ck_assert_msg(run_linkage(said, sizeof said, words) == 0, "%s: %s", words, said);
        ck_assert_int_eq(outside_run(said, sizeof said,
                                     "pdftotext -layout '%s/order.pdf' - | tr -s '\\n ' ' '",
                                     outside_directory()),
                         0);
        ck_assert_msg(strstr(said, orders[i].end) && !strstr(said, "..."), "%s: %s", words, said);
    }
}
END_TEST

/* A card of the program's own, 400 dpi, with a dark arm laid over it by ImageMagick at 87 degrees.
 */
static void draw_arm_photo(void)
{
    char said[4096];
    int status = outside_run(
        said, sizeof said,
        "cd '%s' && '%s' card --single hand-duo --dpi 400 -o card.png && "
        "convert card.png -bordercolor gray70 -border 300 "
        "\\( -size 1948x1450 xc:none -fill '#202020' "
        "-draw 'translate 974,725 rotate -87 polygon -60,-60 240,-34 240,34 -60,60' "
        "-draw 'translate 974,725 circle 0,0 0,75' \\) -composite -blur 0x1 -quality 95 arm.jpg",
        outside_directory(), ARMSQUARE_PROGRAM);
    ck_assert_msg(status == 0, "%s", said);
}

START_TEST(an_angle_may_be_a_photo)
{
    char said[4096], path[1024];
    json_error_t error;
    draw_arm_photo();
    int status = run_linkage(said, sizeof said, "turns arm.jpg --arm 15 --thread M2 --json");
    ck_assert_msg(status == 0, "%s", said);
    snprintf(path, sizeof path, "%s/out", outside_directory());
    json_t *json = json_load_file(path, 0, &error), *off = json_object_get(json, "off_deg");
    ck_assert_ptr_nonnull(off);
    assert_near(json_number_value(json_object_get(off, "value")), -3, 0.5);
    ck_assert_double_gt(json_number_value(json_object_get(off, "u")), 0);
    json_decref(json);
    ck_assert_int_eq(run_linkage(said, sizeof said, "turns arm.jpg:F --arm 15"), 3);
    ck_assert_ptr_nonnull(strstr(said, "no arm F"));
}
END_TEST

/* Compared with itself an arm agrees, whatever it is like; a copy of a photo is that photo. */
START_TEST(an_arm_is_not_compared_with_itself)
{
    static const char *const words[] = {
        "parallel arm.jpg arm.jpg",
        "parallel arm.jpg copy.jpg",
        "parallel arm.jpg ./arm.jpg:a",
        "centre 50 arm.jpg 90 --at 50:copy.jpg",
        "parallel arm.jpg:970,728,988,490 copy.jpg",
        "angle idle=80:arm.jpg full=90:arm.jpg",
        "angle idle=80:arm.jpg full=90:copy.jpg",
    };
    char said[4096];
    draw_arm_photo();
    ck_assert_int_eq(
        outside_run(said, sizeof said, "cd '%s' && cp arm.jpg copy.jpg", outside_directory()), 0);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        ck_assert_msg(run_linkage(said, sizeof said, words[i]) == 2, "%s: %s", words[i], said);
        ck_assert_msg(strstr(said, "the same arm in the same photo") != NULL, "%s", said);
    }
}
END_TEST

/* The truth beside the photo has its two arms opposite each other; the points lie some pixels
 * beside hub and tip of the second. */
START_TEST(an_arm_of_a_photo_may_be_pointed_at)
{
    char said[4096], pointed[4096], named[4096];
    must_say("angle 258.5:photos/tune-25-double-titanium.jpg:714,1006,697,1199", "leave it");
    read_out(pointed, sizeof pointed);
    must_say("angle 258.5:photos/tune-25-double-titanium.jpg:B", "leave it");
    read_out(named, sizeof named);
    ck_assert_str_eq(pointed, named);
    ck_assert_int_eq(
        run_linkage(said, sizeof said, "level photos/tune-25-double-titanium.jpg:714,1006,697"), 2);
    ck_assert_msg(strstr(said, "hub and tip as X,Y,X,Y") != NULL, "%s", said);
    ck_assert_int_eq(
        run_linkage(said, sizeof said, "level photos/tune-25-double-titanium.jpg:1,2,3,4"), 3);
}
END_TEST

/* docs/method.md, section 9: an unsure measurement decides nothing. "armsquare measure" calls this
 * photo unsure, for its arm's sides are short. Numbers beside it are such that a sure photo there
 * would be accepted or turned. */
static const char *const unsure[] = {
    "turns photos/tune-22-single-grey.jpg --arm 15 --thread M2 --wanted 240",
    "turns photos/tune-22-single-grey.jpg --arm 15 --wanted 90",
    "parallel 90 photos/tune-22-single-grey.jpg --arm 15",
    "level photos/tune-22-single-grey.jpg --span 60 --thread M2",
    "angle 90:photos/tune-22-single-grey.jpg",
    "angle 243:photos/tune-22-single-grey.jpg --tolerance 20",
    "centre 200 photos/tune-22-single-grey.jpg 210",
    "centre 50 120 90 --at 50:photos/tune-22-single-grey.jpg",
};

/* A double horn of two arms and a cross of four, by the truth beside the photos, are not one part,
 * as "trim-scale" has it (docs/advice.md). */
START_TEST(photos_of_different_parts_are_not_centred)
{
#define DOUBLE "photos/tune-03-double-grey.jpg"
#define CROSS "photos/tune-01-cross-blue.jpg"
    static const char *const words[] = {
        "centre " DOUBLE " " CROSS " 45u0.2",
        "centre " DOUBLE " 133.6u0.2 115u0.2 --at -50:" CROSS,
    };
    char out[16384], json[1024];
    for (size_t i = 0; i < COUNT(words); i++) {
        must_say(words[i], "Unsure: " CROSS ": It shows another part than " DOUBLE);
        must_say(words[i], "Do: change nothing yet");
        read_out(out, sizeof out);
        ck_assert_msg(!strstr(out, "turn it") && !strstr(out, "set the end"), "%s", out);
        snprintf(json, sizeof json, "%s --json", words[i]);
        must_say(json, "\"reason\": \"different-parts\"");
        must_say(json, "\"decision\": \"cannot tell\"");
    }
    /* of the arm pointed at nobody counts the others, and 16 mm and 12.7 mm are not too unlike */
    must_say("centre photos/tune-25-double-titanium.jpg:714,1006,697,1199 " CROSS ":C 220u0.2",
             "Throws from neutral");
    read_out(out, sizeof out);
    ck_assert_msg(!strstr(out, "Unsure"), "%s", out);
}
END_TEST

/* Nor do they order a change of one link. */
START_TEST(photos_of_different_parts_share_no_link)
{
#define TWO_PARTS "angle idle=45:" DOUBLE " full=45:" CROSS " --arm 14 --thread M2"
    char out[16384];
    must_say(TWO_PARTS, "Unsure: " CROSS ": It shows another part than " DOUBLE);
    must_say(TWO_PARTS, "Do: change nothing yet, for a photo is unsure");
    read_out(out, sizeof out);
    ck_assert_int_eq(count_in(out, "Unsure"), 1); /* the first stands as it is */
    must_say(TWO_PARTS " --json", "\"reason\": \"different-parts\"");
}
END_TEST

/* Common practice, no source: 1 MB is a thread's on some systems. */
START_TEST(a_small_stack_is_enough)
{
    char said[4096];
    int status = outside_run(said, sizeof said,
                             "ulimit -s 1024; '%s' linkage angle idle=45:47u0.2 full=90:92u0.2 | "
                             "grep -c 'One link serves'",
                             ARMSQUARE_PROGRAM);
    ck_assert_msg(status == 0, "status %d, %s", status, said);
}
END_TEST

START_TEST(an_unsure_photo_decides_nothing)
{
    char said[4096], words[1024], out[8192], path[1024];
    must_say(unsure[_i], "not judged, as the photo is unsure");
    must_say(unsure[_i], "Unsure: photos/tune-22-single-grey.jpg: The straight sides");
    must_say(unsure[_i], "Do: change nothing yet");
    read_out(out, sizeof out);
    ck_assert_msg(!strstr(out, "turn it") && !strstr(out, "turn the link") &&
                      !strstr(out, "end points") && !strstr(out, "raise"),
                  "%s", out);
    snprintf(words, sizeof words, "%s --json", unsure[_i]);
    ck_assert_int_eq(run_linkage(said, sizeof said, words), 0);
    snprintf(path, sizeof path, "%s/out", outside_directory());
    json_t *all = json_load_file(path, 0, NULL);
    const json_t *json = json_is_array(all) ? json_array_get(all, 0) : all;
    const json_t *photo = json_array_get(json_object_get(json, "unsure_photos"), 0);
    ck_assert_str_eq(json_string_value(json_object_get(json, "status")), "unsure");
    ck_assert_str_eq(json_string_value(json_object_get(json, "decision")), "cannot tell");
    ck_assert(json_is_null(json_object_get(json, "cure")));
    ck_assert_str_eq(json_string_value(json_object_get(photo, "reason")), "short-arm");
    ck_assert_ptr_nonnull(json_object_get(photo, "message"));
    json_t *ends = json_object_get(json, "end_points");
    ck_assert(!ends || json_is_null(ends));
    json_decref(all);
}
END_TEST

/* Of several wanted angles the unsure one alone is left open; but one link serves them all. */
START_TEST(a_sure_angle_beside_an_unsure_one_is_decided)
{
    static const char words[] = "angle idle=90:photos/tune-22-single-grey.jpg full=90:95u0.1";
    must_say(words, "full: 5.0 ± 0.2 degrees counter-clockwise as seen in the photo: outside the");
    must_say(words, "Do: change nothing yet, for a photo is unsure and one link serves all");
}
END_TEST

/* One link serves all angles of its arm: there is one order at most, the same for every angle. The
 * first rows are off against each other, the last ones together. */
START_TEST(several_angles_order_one_change_of_their_link)
{
    static const struct {
        const char *words, *says;
        int changes;
    } rows[] = {
        {"angle idle=45:47.2u0.3 half=90:90.4u0.3 full=135:133.1u0.3 --arm 12 --thread M2",
         "From idle to full the arm goes 85.9 ± 0.8 degrees where 90.0 are wanted: too little", 0},
        {"angle idle=45:43u0.3 full=135:137.2u0.3 --arm 12 --thread M2", "Smaller end points do",
         0},
        {"angle 45:47.2u0.3 135:133.1u0.3", "From 45 degrees to 135 degrees the arm goes 85.9", 0},
        {"angle 45:45.1u0.1 135:135u0.1 --arm 12 --thread M2", "leave the link as it is.", 0},
        {"angle 45:45.4u0.3 135:135u0.3 --arm 12 --thread M2", "measure better", 0},
        {"angle 10:13u0.1 170:173u0.1 --arm 12 --thread M2", "nearly in one line", 0},
        /* 1.7 off on the average: a change of that is least squares, and takes the second, or one
         * that was good, further off */
        {"angle 55:60u0.2 125:120u0.2 90:95u0.2 --arm 15 --thread M2", "no change of it brings", 0},
        {"angle 55:60u0.2 125:130u0.2 90:90u0.2 --arm 15 --thread M2", "no change of it brings", 0},
        {"angle 55:60u0.2 125:130u0.2 --arm 15", "at all other angles as well, such as neutral", 1},
        {"angle 90:92u0.1 91:93u0.1 --arm 12 --thread M2 --longer cw",
         "turn the link end out by 1 turn (0.40 mm longer). That leaves 0.1 ± 0.2 degrees", 1},
        {"angle 90:92u0.1 91:93u0.1 --arm 12", "make the link 0.42 mm longer or shorter: the arm",
         1},
        {"angle 90:92u0.1 91:93u0.1", "change the link so that the arm goes 2.0 ± 0.2 degrees", 1},
    };
    char said[4096], words[512], out[8192], path[1024], action[4096];
    for (size_t i = 0; i < COUNT(rows); i++) {
        snprintf(words, sizeof words, "%s --json -o angles.pdf", rows[i].words);
        ck_assert_int_eq(run_linkage(said, sizeof said, words), 0);
        snprintf(path, sizeof path, "%s/out", outside_directory());
        json_t *list = json_load_file(path, 0, NULL);
        snprintf(action, sizeof action, "%s",
                 json_string_value(json_object_get(json_array_get(list, 0), "action")));
        ck_assert_msg(strstr(action, rows[i].says) != NULL, "%s: %s", words, action);
        for (size_t k = 1; k < json_array_size(list); k++)
            ck_assert_str_eq(action,
                             json_string_value(json_object_get(json_array_get(list, k), "action")));
        json_decref(list);
        ck_assert_int_eq(run_linkage(said, sizeof said, rows[i].words), 0);
        read_out(out, sizeof out);
        ck_assert_int_eq(count_in(out, "Do:"), 1);
        ck_assert_int_eq(count_in(out, "That leaves"), rows[i].changes);
        outside_run(said, sizeof said, "pdftotext '%s/angles.pdf' - | tr '\n' ' '",
                    outside_directory());
        ck_assert_msg(count_in(said, "That leaves") == rows[i].changes, "%s", said);
    }
}
END_TEST

/* As many angles as are taken, with names as long as are taken: the order is whole, on paper too.
 */
START_TEST(an_order_for_many_angles_is_whole)
{
    char said[32768];
    must_say("angle --arm 14 --thread M2 --longer cw --json -o angles.pdf "
             "$(seq -f 'a-name-as-long-as-is-taken-for-angle-%02g=90:92u0.2' 64)",
             "angle-64. It moves the arm at");
    outside_run(said, sizeof said, "pdftotext '%s/angles.pdf' - | tr '\n' ' '",
                outside_directory());
    ck_assert_msg(strstr(said, "angle-64. It moves the arm at") != NULL, "%s", said);
}
END_TEST

/* --arm of linkage is a length; where a reason asks to point, it tells how that is written here. */
START_TEST(a_reason_tells_how_to_point_here)
{
    char said[4096];
    ck_assert_int_eq(
        run_linkage(said, sizeof said, "angle 90:photos/tune-81-single-black-matt.jpg"), 3);
    ck_assert_msg(strstr(said, "Here that is written PHOTO:X,Y,X,Y.") != NULL, "%s", said);
}
END_TEST

/* Lines drawn over an arm would be measured in place of its edges; names from outside are made fit
 * for a terminal. */
START_TEST(a_picture_or_a_name_that_is_no_photo_is_refused)
{
    char said[4096], out[64];
    draw_arm_photo();
    ck_assert_int_eq(outside_run(said, sizeof said, "cd '%s' && '%s' measure arm.jpg -o drawn.png",
                                 outside_directory(), ARMSQUARE_PROGRAM),
                     0);
    ck_assert_int_eq(run_linkage(said, sizeof said, "angle 90:drawn.png"), 3);
    ck_assert_msg(strstr(said, "drawn.png: This is a picture with lines already drawn") != NULL,
                  "%s", said);
    read_out(out, sizeof out);
    ck_assert_str_eq(out, "");
    ck_assert_int_eq(outside_run(said, sizeof said, "cd '%s' && : >\"$(printf 'red\\033[31m')\"",
                                 outside_directory()),
                     0);
    ck_assert_int_eq(run_linkage(said, sizeof said, "turns \"$(printf 'red\\033[31m')\" --arm 15"),
                     3);
    ck_assert_msg(strstr(said, "red?[31m: The file is empty") != NULL, "%s", said);
}
END_TEST

/* hypot(649.923, 10) = 650, and 1.96 x 0.5 = 0.98 is no 0.9, however wide the column. */
START_TEST(a_number_is_cut_nowhere)
{
    char said[4096];
    ck_assert_int_eq(outside_run(said, sizeof said,
                                 "cd '%s' && printf 'slider pin\nhorn 10\nalong -650\n"
                                 "link 650 u 0.5\n' >long.txt",
                                 outside_directory()),
                     0);
    must_say("solve long.txt", "\n  pin                  -649.92 ± 0.98 ");
}
END_TEST

/* What the front crank is off is in the next horn's angle already. */
START_TEST(a_horn_angle_is_said_to_be_as_measured)
{
    char said[4096];
    const char *dir = outside_directory();
    ck_assert_int_eq(outside_run(said, sizeof said,
                                 "cd '%s' && printf 'crank front\nhorn 12\nalong 58\narm 15\n"
                                 "measured 88 u 0.2\nthread M2\ncrank tail\nhorn 15\n"
                                 "horn angle 88\nalong 100\narm 15\nmeasured 90 u 0.2\n"
                                 "thread M2\n' >measured.txt",
                                 dir),
                     0);
    must_say("solve measured.txt", "\nTaken so\n  tail: its horn angle of 88 degrees is taken as "
                                   "measured with front as it stands now.\n\n");
    must_say("solve measured.txt --json", "\"horn_deg\": 88.0");
}
END_TEST

/* Columns are as wide in characters as in ASCII, and cut no character in two. "Höhenruderumlenkung"
 * has 19 characters, the longer name is cut after 20: behind "ä", which has two bytes. */
START_TEST(names_are_cut_between_characters)
{
    char said[4096], out[16384];
    const char *dir = outside_directory();
    ck_assert_int_eq(
        outside_run(said, sizeof said,
                    "cd '%s' && sed 's/^\\(crank *\\)front crank/\\1H\303\266henruderumlenkung/; "
                    "s/^\\(crank *\\)tail crank/\\1Heckrotorumlenkung \303\244\303\244\303\244/' "
                    "'%s/dunlin-tail.txt' >umlauts.txt",
                    dir, EXAMPLES_FOLDER),
        0);
    must_say("solve umlauts.txt", "\n  H\303\266henruderumlenkung   58.60 ± 0.10 ");
    must_say("solve umlauts.txt", "\n  Heckrotorumlenkung \303\244 639.92 ± 1.07 ");
    read_out(out, sizeof out);
    ck_assert_ptr_null(strstr(out, "Heckrotorumlenkung \303\244\303 "));
    ck_assert_msg(outside_run(said, sizeof said, "iconv -f UTF-8 -t UTF-8 '%s/out'", dir) == 0,
                  "%s", said);
}
END_TEST

/* The table: a line for each step and a head, each with the same number of fields. */
START_TEST(the_table_has_a_line_for_each_step)
{
    char said[4096];
    must_say("solve examples/dunlin-tail.txt --csv tail.csv --step 2", "Dunlin tail");
    ck_assert_int_eq(outside_run(said, sizeof said,
                                 "awk -F, '{print NF}' '%s/tail.csv' | sort | uniq -c | "
                                 "awk '{print $1, $2}'",
                                 outside_directory()),
                     0);
    ck_assert_str_eq(said, "42 17\n"); /* 41 steps and the head; servo and 4 fields x 4 parts */
}
END_TEST

/* README: square is across or along the edge, whichever is nearer. 277.1 is 7.1 off 270, 1.8 as
 * much off 0; only who asks for 90 is told that no link turns the arm there. */
START_TEST(an_arm_is_turned_to_its_nearest_square)
{
    char said[4096];
    must_say("turns 277.1u0.2 --arm 15", "Wanted: 270 degrees, the nearest square; --wanted says");
    must_say("turns 277.1u0.2 --arm 15", "Arm: 7.1 ± 0.4 degrees counter-clockwise");
    must_say("turns 277.1u0.2 --arm 15 --wanted 270", "Arm: 7.1");
    must_say("turns 181.8u0.2 --arm 15", "Arm: 1.8");
    /* 15 sin(1.8) = 0.47 mm, as for 91.8 */
    must_say("turns 1.8u0.2 --arm 15 --thread M2 --longer cw",
             "turn the link end out by 1 turn (0.40 mm longer)");
    must_say("turns 1.8 --arm 15 --json", "\"wanted_deg\": 0.0");
    ck_assert_int_eq(run_linkage(said, sizeof said, "turns 134 --arm 15"), 3);
    ck_assert_msg(strstr(said, "half way between 90 and 180 degrees") != NULL, "%s", said);
    ck_assert_int_eq(run_linkage(said, sizeof said, "turns 128u4 --arm 15"), 3);
    ck_assert_int_eq(run_linkage(said, sizeof said, "turns 319 --arm 15"), 3);
    ck_assert_msg(strstr(said, "half way between 270 and 0 degrees") != NULL, "%s", said);
    ck_assert_int_eq(run_linkage(said, sizeof said, "turns 277.1 --arm 15 --wanted 90"), 3);
    ck_assert_msg(strstr(said, "add --wanted 270.") != NULL, "%s", said);
}
END_TEST

/* The truth beside the photos: the cross's arms lie at 11.5, 101.2, 191.3 and 281.1 degrees, and
 * the star's nearest to square 1.27 clockwise of it, which measure calls arm C. The order is that
 * of measure, and says of which arm. */
START_TEST(of_several_arms_it_is_the_one_of_measure)
{
    static const struct {
        const char *words, *says;
    } rows[] = {
        {"turns photos/tune-12-cross-white.jpg --arm 12 --thread M2",
         "the way that moves the arm clockwise"},
        {"turns photos/tune-48-star-red.jpg --arm 12 --thread M2",
         "Wanted: 180 degrees, the nearest square"},
        {"turns photos/tune-48-star-red.jpg --arm 12 --thread M2", "Arm C: 1.3 ± 0.3"},
        {"turns photos/tune-48-star-red.jpg --arm 12 --thread M2", "this is arm C, one of 6;"},
        {"turns photos/tune-48-star-red.jpg --arm 12 --json", "\"arm\": \"C\""},
        {"turns photos/tune-48-star-red.jpg:A --arm 12 --wanted 60", "Arm: 1."},
        {"angle 190:photos/tune-12-cross-white.jpg", "turn it clockwise by 1.3 degrees"},
        {"angle 190:photos/tune-12-cross-white.jpg", "this is arm C, one of 4"},
        {"angle idle=190:photos/tune-12-cross-white.jpg --json", "\"arms_shown\": 4"},
        {"turns photos/tune-12-cross-white.jpg --arm 12 --wanted 190", "Arm C: 1.3"},
    };
    for (size_t i = 0; i < COUNT(rows); i++)
        must_say(rows[i].words, rows[i].says);
}
END_TEST

START_TEST(a_decimal_comma_is_named)
{
    static const char *const words[] = {"turns 91,8 --arm 15", "turns 91.8u0,2 --arm 15"};
    char said[4096];
    for (size_t i = 0; i < COUNT(words); i++) {
        ck_assert_int_eq(run_linkage(said, sizeof said, words[i]), 2);
        ck_assert_msg(strstr(said, "with a decimal comma; use a point") != NULL, "%s", said);
    }
}
END_TEST

START_TEST(a_drawing_that_cannot_be_written_is_said)
{
    char said[4096];
    ck_assert_int_eq(
        run_linkage(said, sizeof said, "solve examples/dunlin-tail.txt -o nowhere/tail.svg"), 1);
    ck_assert_ptr_nonnull(strstr(said, "could not be written"));
    ck_assert_ptr_nonnull(strstr(said, "its folder is not there"));
    ck_assert_ptr_nonnull(strstr(said, "name another place with -o FILE."));
}
END_TEST

/* A job with the ending of a table, and a photo with that of a drawing: both stay to the byte. */
START_TEST(a_table_or_a_drawing_never_replaces_a_job_or_a_photo)
{
    char said[4096];
    const char *dir = outside_directory();
    ck_assert_int_eq(outside_run(said, sizeof said,
                                 "cd '%s' && '%s' job new a.job --plan rudder --model Dunlin "
                                 ">out && cp a.job a.csv && convert -size 9x9 xc:red a.png && "
                                 "sha256sum a.csv a.png >sums",
                                 dir, ARMSQUARE_PROGRAM),
                     0);
    ck_assert_int_eq(run_linkage(said, sizeof said, "solve examples/dunlin-tail.txt --csv a.csv"),
                     2);
    ck_assert_msg(strstr(said, "\"a.csv\" is a job file, which is never replaced; name another "
                               "place with --csv FILE.") != NULL,
                  "%s", said);
    ck_assert_int_eq(run_linkage(said, sizeof said, "solve examples/dunlin-tail.txt -o a.png"), 2);
    ck_assert_msg(strstr(said, "\"a.png\" is a photo") != NULL, "%s", said);
    ck_assert_int_eq(outside_run(said, sizeof said, "cd '%s' && sha256sum -c sums", dir), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("linkage command");
    TCase *tc = tcase_create("linkage command");
    tcase_set_timeout(tc, 60);
    tcase_add_loop_test(tc, modes_answer_with_an_action, 0, COUNT(answers));
    tcase_add_loop_test(tc, json_can_be_read_back, 0, COUNT(objects));
    tcase_add_test(tc, a_pair_names_a_link_only_where_one_has_to_change);
    tcase_add_test(tc, a_number_without_its_uncertainty_decides_nothing);
    tcase_add_test(tc, a_verdict_tells_the_tolerance_as_given);
    tcase_add_test(tc, photos_of_different_parts_share_no_link);
    tcase_add_test(tc, a_small_stack_is_enough);
    tcase_add_test(tc, an_order_for_many_angles_is_whole);
    tcase_add_loop_test(tc, mistakes_get_one_sentence, 0, COUNT(mistakes));
    tcase_add_test(tc, drawings_are_read_by_outside_programs);
    tcase_add_test(tc, a_drawing_never_cuts_an_order);
    tcase_add_test(tc, a_link_is_turned_only_where_the_ends_stay);
    tcase_add_test(tc, a_drawing_says_what_its_end_points_hold_for);
    tcase_add_test(tc, a_drawing_keeps_the_sign_of_the_differential);
    tcase_add_test(tc, an_angle_may_be_a_photo);
    tcase_add_test(tc, an_arm_of_a_photo_may_be_pointed_at);
    tcase_add_test(tc, photos_of_different_parts_are_not_centred);
    tcase_add_test(tc, an_arm_is_not_compared_with_itself);
    tcase_add_loop_test(tc, an_unsure_photo_decides_nothing, 0, COUNT(unsure));
    tcase_add_test(tc, a_sure_angle_beside_an_unsure_one_is_decided);
    tcase_add_test(tc, several_angles_order_one_change_of_their_link);
    tcase_add_test(tc, a_reason_tells_how_to_point_here);
    tcase_add_test(tc, a_picture_or_a_name_that_is_no_photo_is_refused);
    tcase_add_test(tc, a_horn_angle_is_said_to_be_as_measured);
    tcase_add_test(tc, a_file_that_is_not_there_is_told_what_to_do);
    tcase_add_test(tc, a_number_is_cut_nowhere);
    tcase_add_test(tc, names_are_cut_between_characters);
    tcase_add_test(tc, the_table_has_a_line_for_each_step);
    tcase_add_test(tc, an_arm_is_turned_to_its_nearest_square);
    tcase_add_test(tc, of_several_arms_it_is_the_one_of_measure);
    tcase_add_test(tc, a_decimal_comma_is_named);
    tcase_add_test(tc, a_drawing_that_cannot_be_written_is_said);
    tcase_add_test(tc, a_table_or_a_drawing_never_replaces_a_job_or_a_photo);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
