/* Shapes as signed distance functions, meshed by surface nets (S. F. F. Gibson, "Constrained
 * elastic surface nets", MICCAI 1998) with the vertices moved onto the exact surface. */
#include "shape.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define RAD (3.14159265358979323846 / 180)

static double smooth_min(double a, double b, double k)
{
    double h = fmax(k - fabs(a - b), 0) / k;
    return fmin(a, b) - h * h * k / 4;
}

/* Convex hull of two circles on the y axis: radius r1 at 0, r2 at h. Exact distance. */
static double two_circle_hull(double x, double y, double r1, double r2, double h)
{
    double b = (r1 - r2) / h, a = sqrt(1 - b * b);
    x = fabs(x);
    double k = -b * x + a * y;
    if (k < 0)
        return hypot(x, y) - r1;
    if (k > a * h)
        return hypot(x, y - h) - r2;
    return a * x + b * y - r1;
}

static void along_arm(const struct shape_arm *arm, double x, double y, double *s, double *n)
{
    double c = cos(arm->angle_deg * RAD), d = sin(arm->angle_deg * RAD);
    *s = x * c + y * d;
    *n = -x * d + y * c;
}

static double arm_outline(const struct shape_arm *arm, double x, double y)
{
    double s, n, h = arm->reach_mm - arm->tip_mm;
    along_arm(arm, x, y, &s, &n);
    double t = fmin(fmax(s / h, 0), 1);
    return two_circle_hull(n, s, arm->root_mm, arm->tip_mm, h) + arm->concave_mm * 4 * t * (1 - t);
}

static double cut_holes(const struct shape_arm *arm, double d, double x, double y)
{
    double s, n;
    along_arm(arm, x, y, &s, &n);
    for (int i = 0; i < arm->hole_count; i++)
        d = fmax(d, arm->hole_radius_mm - hypot(s - arm->hole_at_mm[i], n));
    if (arm->slot_half_mm > 0) {
        double along = s - fmin(fmax(s, arm->slot_from_mm), arm->slot_to_mm);
        d = fmax(d, arm->slot_half_mm - hypot(along, n));
    }
    return d;
}

static double add_rim(const struct shape *shape, double d, double x, double y)
{
    double half = shape->rim_wide_mm / 2;
    return smooth_min(d, fabs(hypot(x, y) - shape->rim_mm + half) - half, shape->blend_mm);
}

static double add_ear(const struct shape *shape, double d, double x, double y)
{
    double c = cos(shape->ear_deg * RAD), k = sin(shape->ear_deg * RAD);
    double s = x * c + y * k, n = -x * k + y * c, round = 0.5;
    double u = fabs(s - shape->ear_reach_mm / 2) - shape->ear_reach_mm / 2 + round;
    double v = fabs(n) - shape->ear_half_mm + round;
    double ear = fmin(fmax(u, v), 0) + hypot(fmax(u, 0), fmax(v, 0)) - round;
    d = smooth_min(d, ear, shape->blend_mm);
    return s > 0 ? fmax(d, shape->slit_half_mm - fabs(n)) : d;
}

double shape_outline(const struct shape *shape, double x_mm, double y_mm)
{
    double d = hypot(x_mm, y_mm) - fmax(shape->hub_mm, shape->disc_mm);
    if (shape->disc_mm <= 0)
        for (int i = 0; i < shape->arm_count; i++)
            d = smooth_min(d, arm_outline(&shape->arms[i], x_mm, y_mm), shape->blend_mm);
    if (shape->rim_mm > 0)
        d = add_rim(shape, d, x_mm, y_mm);
    if (shape->ear_half_mm > 0)
        d = add_ear(shape, d, x_mm, y_mm);
    for (int i = 0; i < shape->arm_count; i++)
        d = cut_holes(&shape->arms[i], d, x_mm, y_mm);
    return d;
}

/* Extrusion between |z| <= half with edges rounded by r. */
static double extrude(double d2, double z, double half, double r)
{
    double u = d2 + r, v = fabs(z) - half + r;
    return fmin(fmax(u, v), 0) + hypot(fmax(u, 0), fmax(v, 0)) - r;
}

static double solid(const struct shape *shape, double outline, double x, double y, double z)
{
    double half = shape->thick_mm / 2, radius = hypot(x, y);
    double d = extrude(outline, z, half, shape->edge_mm);
    double top = half + shape->boss_up_mm, bottom = -half - shape->boss_down_mm;
    double boss =
        extrude(radius - shape->boss_mm, z - (top + bottom) / 2, (top - bottom) / 2, 0.35);
    d = smooth_min(d, boss, 0.5);
    double bore = extrude(radius - shape->bore_mm, z - top, shape->bore_deep_mm, 0.1);
    return shape->bore_mm > 0 ? -smooth_min(-d, bore, 0.2) : d;
}

static double solid_at(const struct shape *shape, double x, double y, double z)
{
    return solid(shape, shape_outline(shape, x, y), x, y, z);
}

struct vertex {
    double p[3], n[3];
};

struct net {
    const struct shape *shape;
    double cell, origin[3];
    int size[3];
    float *value;
    int *index; /* of the cell's vertex, -1: none */
    struct vertex *vertices;
    int count, capacity;
};

static size_t node(const struct net *net, int i, int j, int k)
{
    return ((size_t)k * net->size[1] + j) * net->size[0] + i;
}

static bool sample(struct net *net)
{
    const struct shape *shape = net->shape;
    double reach = fmax(fmax(shape->hub_mm, shape->disc_mm), shape->boss_mm);
    reach = fmax(reach, fmax(shape->rim_mm, shape->ear_reach_mm));
    for (int i = 0; i < shape->arm_count && shape->disc_mm <= 0; i++)
        reach = fmax(reach, shape->arms[i].reach_mm);
    double low = -shape->thick_mm / 2 - shape->boss_down_mm;
    double high = shape->thick_mm / 2 + shape->boss_up_mm;
    net->origin[0] = net->origin[1] = -reach - 2.37 * net->cell;
    net->origin[2] = low - 2.37 * net->cell;
    net->size[0] = net->size[1] = (int)ceil(2 * reach / net->cell) + 6;
    net->size[2] = (int)ceil((high - low) / net->cell) + 6;
    size_t n = (size_t)net->size[0] * net->size[1] * net->size[2];
    net->value = malloc(n * sizeof *net->value);
    net->index = malloc(n * sizeof *net->index);
    if (!net->value || !net->index)
        return false;
    for (int j = 0; j < net->size[1]; j++)
        for (int i = 0; i < net->size[0]; i++) {
            double x = net->origin[0] + i * net->cell, y = net->origin[1] + j * net->cell;
            double outline = shape_outline(shape, x, y);
            for (int k = 0; k < net->size[2]; k++)
                net->value[node(net, i, j, k)] =
                    (float)solid(shape, outline, x, y, net->origin[2] + k * net->cell);
        }
    return true;
}

static void gradient(const struct shape *shape, const double *p, double *g)
{
    const double e = 1e-4;
    for (int a = 0; a < 3; a++) {
        double q[3] = {p[0], p[1], p[2]};
        q[a] += e;
        double high = solid_at(shape, q[0], q[1], q[2]);
        q[a] -= 2 * e;
        g[a] = (high - solid_at(shape, q[0], q[1], q[2])) / (2 * e);
    }
}

static void settle(const struct net *net, struct vertex *v)
{
    for (int step = 0; step < 4; step++) {
        gradient(net->shape, v->p, v->n);
        double f = solid_at(net->shape, v->p[0], v->p[1], v->p[2]);
        double g2 = v->n[0] * v->n[0] + v->n[1] * v->n[1] + v->n[2] * v->n[2];
        double move = g2 > 1e-6 ? -f / g2 : 0;
        move = fmin(fmax(move, -net->cell), net->cell);
        for (int a = 0; a < 3; a++)
            v->p[a] += move * v->n[a];
    }
}

/* Mean of the places where the surface crosses the cell's edges. */
static bool cell_vertex(const struct net *net, int i, int j, int k, struct vertex *v)
{
    static const int edges[12][2] = {{0, 1}, {2, 3}, {4, 5}, {6, 7}, {0, 2}, {1, 3},
                                     {4, 6}, {5, 7}, {0, 4}, {1, 5}, {2, 6}, {3, 7}};
    double f[8], sum[3] = {0, 0, 0};
    int n = 0;
    for (int c = 0; c < 8; c++)
        f[c] = net->value[node(net, i + (c & 1), j + (c >> 1 & 1), k + (c >> 2))];
    for (int e = 0; e < 12; e++) {
        int a = edges[e][0], b = edges[e][1];
        if ((f[a] < 0) == (f[b] < 0))
            continue;
        double t = f[a] / (f[a] - f[b]);
        for (int axis = 0; axis < 3; axis++)
            sum[axis] += (a >> axis & 1) + t * ((b >> axis & 1) - (a >> axis & 1));
        n++;
    }
    if (n == 0)
        return false;
    const int at[3] = {i, j, k};
    for (int axis = 0; axis < 3; axis++)
        v->p[axis] = net->origin[axis] + (at[axis] + sum[axis] / n) * net->cell;
    return true;
}

static bool add_vertex(struct net *net, struct vertex v)
{
    if (net->count == net->capacity) {
        int capacity = net->capacity ? net->capacity * 2 : 4096;
        struct vertex *grown = realloc(net->vertices, capacity * sizeof v);
        if (!grown)
            return false;
        net->vertices = grown;
        net->capacity = capacity;
    }
    net->vertices[net->count++] = v;
    return true;
}

static bool place_vertices(struct net *net)
{
    for (int k = 0; k + 1 < net->size[2]; k++)
        for (int j = 0; j + 1 < net->size[1]; j++)
            for (int i = 0; i + 1 < net->size[0]; i++) {
                struct vertex v;
                bool crossed = cell_vertex(net, i, j, k, &v);
                net->index[node(net, i, j, k)] = crossed ? net->count : -1;
                if (!crossed)
                    continue;
                settle(net, &v);
                if (!add_vertex(net, v))
                    return false;
            }
    return true;
}

/* One quad for each grid edge that crosses the surface, from the four cells round it. */
static int write_faces(const struct net *net, FILE *to)
{
    int faces = 0;
    for (int axis = 0; axis < 3; axis++) {
        int u = (axis + 1) % 3, w = (axis + 2) % 3, at[3];
        for (at[2] = 1; at[2] + 2 < net->size[2]; at[2]++)
            for (at[1] = 1; at[1] + 2 < net->size[1]; at[1]++)
                for (at[0] = 1; at[0] + 2 < net->size[0]; at[0]++) {
                    int end[3] = {at[0], at[1], at[2]}, cell[4];
                    end[axis]++;
                    if ((net->value[node(net, at[0], at[1], at[2])] < 0) ==
                        (net->value[node(net, end[0], end[1], end[2])] < 0))
                        continue;
                    for (int c = 0; c < 4; c++) {
                        int q[3] = {at[0], at[1], at[2]};
                        q[u] -= c == 1 || c == 2;
                        q[w] -= c >= 2;
                        cell[c] = net->index[node(net, q[0], q[1], q[2])];
                    }
                    if (to)
                        fprintf(to, ",<%d,%d,%d>,<%d,%d,%d>\n", cell[0], cell[1], cell[2], cell[0],
                                cell[2], cell[3]);
                    faces += 2;
                }
    }
    return faces;
}

static int write_net(const struct net *net, FILE *to)
{
    fprintf(to, "mesh2 {\nvertex_vectors { %d\n", net->count);
    for (int i = 0; i < net->count; i++)
        fprintf(to, ",<%.4f,%.4f,%.4f>\n", net->vertices[i].p[0], net->vertices[i].p[1],
                net->vertices[i].p[2]);
    fprintf(to, "}\nnormal_vectors { %d\n", net->count);
    for (int i = 0; i < net->count; i++)
        fprintf(to, ",<%.3f,%.3f,%.3f>\n", net->vertices[i].n[0], net->vertices[i].n[1],
                net->vertices[i].n[2]);
    int faces = write_faces(net, NULL);
    fprintf(to, "}\nface_indices { %d\n", faces);
    write_faces(net, to);
    fputs("}\n", to);
    return faces;
}

int shape_write_mesh(const struct shape *shape, double cell_mm, FILE *to)
{
    struct net net = {.shape = shape, .cell = cell_mm};
    int faces = 0;
    if (sample(&net) && place_vertices(&net))
        faces = write_net(&net, to);
    free(net.value);
    free(net.index);
    free(net.vertices);
    return faces;
}
