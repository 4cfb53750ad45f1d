/* How many full four-bar solves a second on one core: both assemblies, each with crank angle, link
 * angle, transmission angle, gain and crank per mm of link. Also whole chains of three stages.
 * Prints a line for each; fails below the figure the project promises. */
#include "linkage/fourbar.h"
#include "linkage/linkage.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define SOLVES 3000000
#define CHAINS 1000000
#define PROMISED_PER_SECOND 1e6

static double cpu_seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The sum keeps the compiler from dropping the work; it is printed for the same reason. */
static double solves_per_second(double *sum)
{
    struct fourbar mech;
    struct fourbar_pose poses[2];
    fourbar_init(&mech, 12, 58, 15, 60);
    double start = cpu_seconds();
    for (int i = 0; i < SOLVES; i++) {
        double horn_rad = 0.8 + 1.5 * (i % 4096) / 4096.0;
        if (fourbar_solve(&mech, horn_rad, poses) == FOURBAR_OK)
            *sum += poses[0].crank_rad + poses[1].gain + poses[0].transmission_rad;
    }
    return SOLVES / (cpu_seconds() - start);
}

static struct linkage_stage crank_stage(double horn, double along, double arm)
{
    struct linkage_stage stage = linkage_stage_default(LINKAGE_CRANK);
    stage.parts[LINKAGE_HORN].value = horn;
    stage.parts[LINKAGE_ALONG].value = along;
    stage.parts[LINKAGE_ARM].value = arm;
    stage.given[LINKAGE_HORN] = stage.given[LINKAGE_ALONG] = stage.given[LINKAGE_ARM] = true;
    return stage;
}

static double chains_per_second(double *sum)
{
    struct linkage chain = {.low_deg = -40, .high_deg = 40, .stage_count = 3};
    chain.stages[0] = crank_stage(12, 60, 15);
    chain.stages[1] = crank_stage(15, 600, 14);
    chain.stages[2] = crank_stage(14, 40, 18);
    struct linkage_ready ready;
    struct linkage_pose poses[LINKAGE_MAX_STAGES];
    if (linkage_prepare(&chain, &ready, NULL) != LINKAGE_OK)
        return 0;
    double start = cpu_seconds();
    for (int i = 0; i < CHAINS; i++)
        if (linkage_pose(&ready, -40 + 80 * (i % 4096) / 4096.0, poses, NULL) == LINKAGE_OK)
            *sum += poses[2].out;
    return CHAINS / (cpu_seconds() - start);
}

int main(void)
{
    double sum = 0;
    double solves = solves_per_second(&sum);
    double chains = chains_per_second(&sum);
    printf("four-bar solves per second, one core:    %10.0f\n", solves);
    printf("three-stage chains per second, one core: %10.0f\n", chains);
    printf("(check sum %.6f)\n", sum);
    return solves >= PROMISED_PER_SECOND ? 0 : 1;
}
