/* What is worked out on the way, in one block of memory, and the names of a variant's functions. */

#include <stdlib.h>
#include <string.h>
#include "vector.h"
#include "elements.h"
#include "kernel.h"

#define PASTE_(a, b) a##b
#define PASTE(a, b) PASTE_(a, b)
#define NAME(x) PASTE(x, VARIANT)

enum { PAIR_PARTS = 14 }; /* a mutual impedance and its slopes by six numbers */
enum { WAY_PARTS = 11 }; /* whether two openings are on two tubes; how the five numbers of either move their way */
enum { HOLE_PARTS = 7 }; /* f Y (Y/f of a closed one), f t, gain: real and imaginary; half series over f */

_Static_assert(segment_values_columns == 8 && segment_slopes_rows == 7, "room for segments");
_Static_assert(open_hole_values_columns == HOLE_PARTS && open_hole_slopes_rows == 14, "room for open holes");
_Static_assert(part_hole_values_columns == HOLE_PARTS && closed_hole_values_columns == HOLE_PARTS, "room for holes");
_Static_assert(reed_values_columns == 11 && lumped_reed_values_columns == 11 && reed_slopes_rows == 11, "room for reeds");
_Static_assert(pair_slopes_rows * pair_slopes_columns == PAIR_PARTS, "room for pairs");
_Static_assert(bell_pair_slopes_kept <= pair_slopes_kept && own_slopes_kept <= pair_slopes_kept, "room for pairs at once");
_Static_assert(pair_values_kept <= pair_slopes_kept && bell_slopes_rows == 6 && bell_values_columns == 2, "room for bells");

typedef struct {
    V p1r, p1i, u1r, u1i, p2r, p2i, u2r, u2i, nr, ni, br, bi; /* p1 U1 p2 U2 node beyond */
} Field;

/* Everything that is worked out on the way, in one block of memory that a batch uses again and again. */
typedef struct {
    double *segment, *segment_slope;  /* [M][8][K], [M][K][8][6] */
    double *hole, *hole_slope;        /* [L][H][7][K], [L][H][K][7][13] */
    V *part;                          /* [M][8][columns]: A B C D at the notes */
    V *half, *shunt;                  /* [H][columns], [H][2][columns] */
    V *transfer, *gain;               /* [H][2][vectors] at the upper frequency */
    V *load, *load_slope;             /* [2][columns], [5][2][columns] */
    V *reed, *reed_slope;             /* [11][columns], [10][11][columns] */
    V *right, *left;                  /* [H][2][vectors] node pressures of both sweeps */
    C *mutual, *system;               /* [P][P], [P][P + 1] for one vector of notes */
    C *outflow, *pressure;            /* [P][vectors] */
    double *way;                      /* [P][P][11] */
    V *pair_kept, *pair;              /* [P][P][kept], and values and slopes of one vector of notes [P][P][14] */
    Field *chain, *total;             /* [M][columns], [M][vectors] */
    V *slope;                         /* [count][vectors] */
    V *by_series;                     /* [H] slopes by half series over f, and by shunts at both frequencies, */
    C *by_shunt;                      /* [H][2], of one vector of notes */
} Work;

#define TAKE(type, member, count)                                                   \
    do {                                                                            \
        if (block) work->member = (type *)(block + used);                           \
        used += (((size_t)(count) * sizeof(type)) + 63) / 64 * 64;                  \
    } while (0)

static size_t lay_out(Work *work, const Chart *chart, int M, int vectors, int slopes, char *block)
{
    size_t used = 0, H = chart->holes, P = H + 1, K = chart->nodes, L = chart->levels, columns = 2 * vectors;
    size_t count = 2 + 5 * (size_t)M + 11 * H + 3 + 5 * P + 8, deep = slopes ? 1 : 0;
    TAKE(double, segment, M * 8 * K);
    TAKE(double, segment_slope, deep * M * 48 * K);
    TAKE(double, hole, L * H * HOLE_PARTS * K + 1);
    TAKE(double, hole_slope, deep * L * H * 13 * HOLE_PARTS * K + 1);
    TAKE(V, part, M * 8 * columns);
    TAKE(V, half, H * columns);
    TAKE(V, shunt, H * 2 * columns);
    TAKE(V, transfer, H * 2 * vectors);
    TAKE(V, gain, H * 2 * vectors);
    TAKE(V, load, 2 * columns);
    TAKE(V, load_slope, deep * 10 * columns);
    TAKE(V, reed, 11 * columns);
    TAKE(V, reed_slope, deep * 110 * columns);
    TAKE(V, right, H * 2 * vectors);
    TAKE(V, left, P * 2 * vectors);
    TAKE(C, mutual, P * P);
    TAKE(C, system, P * (P + 1));
    TAKE(C, outflow, P * vectors);
    TAKE(C, pressure, P * vectors);
    TAKE(V, pair_kept, P * P * pair_slopes_kept);
    TAKE(V, pair, deep * P * P * PAIR_PARTS);
    TAKE(double, way, P * P * WAY_PARTS);
    TAKE(Field, chain, M * columns);
    TAKE(V, by_series, H);
    TAKE(C, by_shunt, 2 * H);
    TAKE(Field, total, deep * M * vectors);
    TAKE(V, slope, deep * count * vectors);
    return used;
}
