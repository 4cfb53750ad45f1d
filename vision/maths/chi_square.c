#include "chi_square.h"

double chi_square_usual(int dof)
{
    static const double usual[CHI_SQUARE_MOST_DOF + 1] = {0,     3.841,  5.991,  7.815,
                                                          9.488, 11.070, 12.592, 14.067};
    return usual[dof];
}

double chi_square_rare(int dof)
{
    static const double rare[CHI_SQUARE_MOST_DOF + 1] = {0,      6.635,  9.210,  11.345,
                                                         13.277, 15.086, 16.812, 18.475};
    return rare[dof];
}
