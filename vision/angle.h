/* Angles are radians inside and degrees where people or budgets read them. */
#ifndef ANGLE_H
#define ANGLE_H

#define PI 3.14159265358979323846
#define DEG (180 / PI) /* degrees in one radian: a_rad * DEG, a_deg / DEG */

#endif
