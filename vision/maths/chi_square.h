/* Critical values of chi-square: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4. */
#ifndef CHI_SQUARE_H
#define CHI_SQUARE_H

#define CHI_SQUARE_MOST_DOF 7

/* What chance exceeds one time in twenty and one time in a hundred, for 0 to 7 degrees of freedom;
 * 0 for 0. */
double chi_square_usual(int dof);
double chi_square_rare(int dof);

#endif
