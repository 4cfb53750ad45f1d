/* The marker family against an independent copy of it: the tables inside libapriltag. */
#include "check_main.h"
#include "outside.h"
#include "tag36h11.h"

#include <apriltag/tag36h11.h>
#include <stdio.h>
#include <string.h>

/* The six rows of data cells, first cell in bit 35, as published before version 3 of the family's
 * own library. */
static uint64_t row_major_code(int id)
{
    uint64_t code = 0;
    for (int row = 2; row < 8; row++)
        for (int column = 2; column < 8; column++)
            code = code << 1 | (tag36h11_cell_is_white(id, row, column) ? 1 : 0);
    return code;
}

static uint64_t turned_by_90(uint64_t code)
{
    uint64_t turned = 0;
    for (int row = 0; row < 6; row++)
        for (int column = 0; column < 6; column++)
            turned = turned << 1 | (code >> (35 - (column * 6 + 5 - row)) & 1);
    return turned;
}

START_TEST(every_cell_of_every_tag_is_as_in_libapriltag)
{
    apriltag_family_t *family = tag36h11_create();
    ck_assert_int_eq(TAG36H11_COUNT, (int)family->ncodes);
    ck_assert_int_eq(TAG36H11_CELLS, family->total_width);
    for (int id = 0; id < TAG36H11_COUNT; id++) {
        for (uint32_t bit = 0; bit < family->nbits; bit++) {
            /* bit_x and bit_y count cells from the corner of the black border. */
            int row = (int)family->bit_y[bit] + 1, column = (int)family->bit_x[bit] + 1;
            bool white = family->codes[id] >> (family->nbits - 1 - bit) & 1;
            ck_assert_msg(tag36h11_cell_is_white(id, row, column) == white,
                          "tag %d, row %d, column %d", id, row, column);
        }
    }
    tag36h11_destroy(family);
}
END_TEST

START_TEST(tags_have_a_black_border_in_a_white_quiet_zone)
{
    for (int id = 0; id < TAG36H11_COUNT; id++) {
        for (int i = 0; i < 10; i++) {
            ck_assert(tag36h11_cell_is_white(id, 0, i) && tag36h11_cell_is_white(id, 9, i));
            ck_assert(tag36h11_cell_is_white(id, i, 0) && tag36h11_cell_is_white(id, i, 9));
            if (i == 0 || i == 9)
                continue;
            ck_assert(!tag36h11_cell_is_white(id, 1, i) && !tag36h11_cell_is_white(id, 8, i));
            ck_assert(!tag36h11_cell_is_white(id, i, 1) && !tag36h11_cell_is_white(id, i, 8));
        }
    }
}
END_TEST

/* Published with the family's first tag: 0xd5d628584. */
START_TEST(first_and_last_code_are_the_published_ones)
{
    ck_assert_uint_eq(row_major_code(0), UINT64_C(0xd5d628584));
    ck_assert_uint_eq(row_major_code(586), UINT64_C(0xe83be4b73));
}
END_TEST

/* SHA-256 of all codes, row by row, as nine lower-case hexadecimal digits a line. Computed once
 * from libapriltag 3.3.0's table by a separate program; here sha256sum of coreutils repeats it. */
START_TEST(all_codes_have_the_recorded_sum)
{
    static const char recorded[] =
        "5a798d93704f40b9dc342eec767bebc07bd3ff9dc7756fe540a17b638980248e";
    char path[128], said[256];
    snprintf(path, sizeof path, "%s/codes", outside_directory());
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    for (int id = 0; id < TAG36H11_COUNT; id++)
        fprintf(file, "%09llx\n", (unsigned long long)row_major_code(id));
    ck_assert_int_eq(fclose(file), 0);
    ck_assert_int_eq(outside_run(said, sizeof said, "sha256sum < '%s'", path), 0);
    ck_assert_msg(strncmp(said, recorded, 64) == 0, "sum is %s", said);
}
END_TEST

/* h = 11 in the family's name; libapriltag says the same in apriltag_family.h. */
START_TEST(any_two_tags_differ_in_eleven_cells_at_least_whichever_way_they_are_turned)
{
    static uint64_t turned[4][TAG36H11_COUNT];
    for (int id = 0; id < TAG36H11_COUNT; id++) {
        turned[0][id] = row_major_code(id);
        for (int turn = 1; turn < 4; turn++)
            turned[turn][id] = turned_by_90(turned[turn - 1][id]);
    }
    apriltag_family_t *family = tag36h11_create();
    int nearest = 36;
    for (int a = 0; a < TAG36H11_COUNT; a++)
        for (int b = a; b < TAG36H11_COUNT; b++)
            for (int turn = a == b; turn < 4; turn++) {
                int apart = __builtin_popcountll(turned[0][a] ^ turned[turn][b]);
                nearest = apart < nearest ? apart : nearest;
            }
    ck_assert_int_eq(nearest, (int)family->h);
    tag36h11_destroy(family);
}
END_TEST

START_TEST(what_lies_outside_the_family_is_not_white)
{
    static const int cells[][3] = {{-1, 0, 0}, {587, 0, 0}, {0, -1, 0},
                                   {0, 10, 0}, {0, 0, -1},  {0, 0, 10}};
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++)
        ck_assert(!tag36h11_cell_is_white(cells[i][0], cells[i][1], cells[i][2]));
}
END_TEST

int main(void)
{
    outside_directory();
    Suite *suite = suite_create("tag36h11");
    TCase *tcase = tcase_create("family");
    tcase_add_test(tcase, every_cell_of_every_tag_is_as_in_libapriltag);
    tcase_add_test(tcase, tags_have_a_black_border_in_a_white_quiet_zone);
    tcase_add_test(tcase, first_and_last_code_are_the_published_ones);
    tcase_add_test(tcase, all_codes_have_the_recorded_sum);
    tcase_add_test(tcase,
                   any_two_tags_differ_in_eleven_cells_at_least_whichever_way_they_are_turned);
    tcase_add_test(tcase, what_lies_outside_the_family_is_not_white);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
