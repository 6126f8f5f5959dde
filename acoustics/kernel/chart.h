/* A chart on a batch of ducts, W notes at a time: what acoustics/charts.py and acoustics/sweeps.py do in NumPy.
 *
 * Elements come from elements.h at the nodes, W stations or holes at a time. Polynomials give them at the notes; there a
 * lane is a note. Columns are vectors of notes: `vectors` of them at the lower frequency of the secant, as many at the
 * upper. Names and signs are those of the Python modules, where the derivation stands. */

#include <stdlib.h>
#include <string.h>
#include "vector.h"
#include "elements.h"
#include "kernel.h"

#define PASTE_(a, b) a##b
#define PASTE(a, b) PASTE_(a, b)
#define NAME(x) PASTE(x, VARIANT)

enum { PAIR_PARTS = 14 }; /* a mutual impedance and its slopes by six numbers */
enum { HOLE_PARTS = 7 }; /* f Y (Y/f of a closed one), f t, gain: real and imaginary; half series over f */

typedef struct {
    V p1r, p1i, u1r, u1i, p2r, p2i, u2r, u2i, nr, ni, br, bi; /* p1 U1 p2 U2 node beyond */
} Field;

/* Everything that is worked out on the way, in one block of memory that a batch uses again and again. */
typedef struct {
    double *segment, *segment_slope;  /* [M][8][K], [M][6][8][K] */
    double *hole, *hole_slope;        /* [L][H][7][K], [L][H][13][7][K] */
    V *part;                          /* [M][8][columns]: A B C D at the notes */
    V *half, *shunt;                  /* [H][columns], [H][2][columns] */
    V *transfer, *gain;               /* [H][2][vectors] at the upper frequency */
    V *load, *load_slope;             /* [2][columns], [5][2][columns] */
    V *reed, *reed_slope;             /* [11][columns], [10][11][columns] */
    V *right, *left;                  /* [H][2][vectors] node pressures of both sweeps */
    C *mutual, *system;               /* [P][P], [P][P + 1] for one vector of notes */
    C *outflow, *pressure;            /* [P][vectors] */
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
    size_t count = 2 + 5 * (size_t)M + 11 * H + 3 + 3 * P + 8, deep = slopes ? 1 : 0;
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
    TAKE(Field, chain, M * columns);
    TAKE(V, by_series, H);
    TAKE(C, by_shunt, 2 * H);
    TAKE(Field, total, deep * M * vectors);
    TAKE(V, slope, deep * count * vectors);
    return used;
}

/* One element at every node, for W of its kind at a time: values [rows][columns][K] of each, numbers in rows of `many`. */
#define ELEMENT_AT_NODES(name, given, many, into)                                                                  \
    do {                                                                                                            \
        V kept[name##_kept], out[name##_rows * name##_columns];                                                     \
        name##_once(given, kept);                                                                                   \
        for (int k = 0; k < K; k++) {                                                                               \
            name##_at(kept, v_all(chart->node[k]), out);                                                            \
            for (int i = 0; i < (many); i++)                                                                        \
                for (int r = 0; r < name##_rows * name##_columns; r++) into;                                        \
        }                                                                                                           \
    } while (0)

static INLINE V lanes_of(const double *row, int first, int size)
{
    V found;
    for (int i = 0; i < W; i++) found[i] = row[first + i < size ? first + i : size - 1];
    return found;
}

static __attribute__((noinline)) void NAME(segments)(const Chart *chart, Work *work, const double *vector, int M, int slopes)
{
    const int K = chart->nodes;
    const double *rows = vector + 2;
    for (int first = 0; first < M; first += W) {
        const int many = M - first < W ? M - first : W;
        V given[6];
        for (int n = 0; n < 4; n++) given[n] = lanes_of(rows + n * M, first, M);
        given[4] = v_all(vector[0]);
        given[5] = v_all(vector[1]);
        if (slopes)
            ELEMENT_AT_NODES(segment_slopes, given, many,
                if (r < 8) work->segment[((size_t)(first + i) * 8 + r) * K + k] = out[r][i];
                else work->segment_slope[((size_t)(first + i) * 48 + r - 8) * K + k] = out[r][i]);
        else
            ELEMENT_AT_NODES(segment_values, given, many, work->segment[((size_t)(first + i) * 8 + r) * K + k] = out[r][i]);
    }
}


#define HOLES_OF(kind)                                                                                              \
    static __attribute__((noinline)) void NAME(kind##s)(                                                            \
        const Chart *chart, Work *work, const V *given, int l, int first, int many, int slopes)                      \
    {                                                                                                               \
        const int K = chart->nodes, H = chart->holes;                                                               \
        double *value = work->hole + (size_t)(l * H + first) * HOLE_PARTS * K;                                      \
        double *slope = work->hole_slope + (size_t)(l * H + first) * 13 * HOLE_PARTS * K;                           \
        if (slopes)                                                                                                 \
            ELEMENT_AT_NODES(kind##_slopes, given, many,                                                            \
                if (r < HOLE_PARTS) value[((size_t)i * HOLE_PARTS + r) * K + k] = out[r][i];                         \
                else slope[((size_t)i * 13 * HOLE_PARTS + r - HOLE_PARTS) * K + k] = out[r][i]);                     \
        else                                                                                                        \
            ELEMENT_AT_NODES(kind##_values, given, many, value[((size_t)i * HOLE_PARTS + r) * K + k] = out[r][i]);   \
    }

HOLES_OF(closed_hole)
HOLES_OF(open_hole)
HOLES_OF(part_hole)

static void NAME(holes)(const Chart *chart, Work *work, const double *vector, int M, int slopes)
{
    const int H = chart->holes;
    const double *rows = vector + 2 + 5 * M;
    for (int first = 0; first < H; first += W) {
        const int many = H - first < W ? H - first : W;
        V given[14];
        for (int n = 0; n < 11; n++) given[n] = lanes_of(rows + n * H, first, H);
        given[11] = v_all(vector[0]);
        given[12] = v_all(vector[1]);
        for (int l = 0; l < chart->levels; l++) {
            given[13] = v_all(chart->level[l]);
            if (chart->level[l] <= 0.0) NAME(closed_holes)(chart, work, given, l, first, many, slopes);
            else if (chart->level[l] >= 1.0) NAME(open_holes)(chart, work, given, l, first, many, slopes);
            else NAME(part_holes)(chart, work, given, l, first, many, slopes);
        }
    }
}

/* Values at the columns of what stands at the nodes: node values [rows][K], weights [K][columns], into [rows][columns]. */
static INLINE void to_notes(const double *at, int rows, int K, const V *weight, int columns, int from, int to, V *into)
{
    for (int r = 0; r < rows; r++) {
        const double *row = at + (size_t)r * K;
        int c = from;
        for (; c + 4 <= to; c += 4) {
            V a = v_all(0.0), b = a, d = a, e = a;
            for (int k = 0; k < K; k++) {
                const V x = v_all(row[k]), *w = weight + (size_t)k * columns + c;
                a += x * w[0];
                b += x * w[1];
                d += x * w[2];
                e += x * w[3];
            }
            V *out = into + (size_t)r * (to - from) + c - from;
            out[0] = a, out[1] = b, out[2] = d, out[3] = e;
        }
        for (; c < to; c++) {
            V a = v_all(0.0);
            for (int k = 0; k < K; k++) a += v_all(row[k]) * weight[(size_t)k * columns + c];
            into[(size_t)r * (to - from) + c - from] = a;
        }
    }
}

static __attribute__((noinline)) void NAME(between)(const Chart *chart, Work *work, int M, int vectors)
{
    const int K = chart->nodes, H = chart->holes, columns = 2 * vectors;
    const V *weight = (const V *)chart->weight, *f = (const V *)chart->f, *level = (const V *)chart->which;
    for (int m = 0; m < M; m++) {
        V *part = work->part + (size_t)m * 8 * columns;
        to_notes(work->segment + (size_t)m * 8 * K, 8, K, weight, columns, 0, columns, part);
        for (int r = 2; r < 6; r++)
            for (int c = 0; c < columns; c++) part[r * columns + c] *= f[c];
    }
    V found[6 * columns];
    memset(work->half, 0, sizeof(V) * H * columns);
    memset(work->shunt, 0, sizeof(V) * H * 2 * columns);
    memset(work->transfer, 0, sizeof(V) * H * 2 * vectors);
    for (int h = 0; h < H; h++) {
        for (int l = 0; l < chart->levels; l++) {
            const double *at = work->hole + (size_t)(l * H + h) * HOLE_PARTS * K;
            const int open = chart->level[l] > 0.0;
            if (!chart->used[h * chart->levels + l]) continue;
            to_notes(at, 2, K, weight, columns, 0, columns, found);
            for (int c = 0; c < columns; c++) {
                const VI here = level[h * vectors + c % vectors] == v_all(l);
                const V scale = open ? (V)(v_all(1.0) / f[c]) : (V)f[c];
                V *shunt = work->shunt + (size_t)h * 2 * columns;
                shunt[c] = v_pick(here, found[c] * scale, shunt[c]);
                shunt[columns + c] = v_pick(here, found[columns + c] * scale, shunt[columns + c]);
                work->half[h * columns + c] = v_pick(here, v_all(at[6 * K]) * f[c], work->half[h * columns + c]);
            }
            if (!open) continue;
            to_notes(at + 2 * K, 4, K, weight, columns, vectors, columns, found);
            for (int j = 0; j < vectors; j++) {
                const VI here = level[h * vectors + j] == v_all(l);
                const V scale = v_all(1.0) / f[vectors + j];
                V *transfer = work->transfer + (size_t)h * 2 * vectors, *gain = work->gain + (size_t)h * 2 * vectors;
                transfer[j] = v_pick(here, found[j] * scale, transfer[j]);
                transfer[vectors + j] = v_pick(here, found[vectors + j] * scale, transfer[vectors + j]);
                gain[j] = found[2 * vectors + j];
                gain[vectors + j] = found[3 * vectors + j];
            }
        }
    }
}

/* Elements there is one of, at the notes themselves: values and slopes [rows][columns of out][columns]. */
#define ELEMENT_AT_NOTES(name, given, value, slope)                                                                 \
    do {                                                                                                            \
        V kept[name##_kept], out[name##_rows * name##_columns];                                                     \
        name##_once(given, kept);                                                                                   \
        for (int c = 0; c < columns; c++) {                                                                         \
            name##_at(kept, f[c], out);                                                                             \
            for (int r = 0; r < name##_columns; r++) (value)[r * columns + c] = out[r];                              \
            for (int r = name##_columns; r < name##_rows * name##_columns; r++)                                      \
                (slope)[(r - name##_columns) * columns + c] = out[r];                                               \
        }                                                                                                           \
    } while (0)

static __attribute__((noinline)) void NAME(ends)(const Chart *chart, Work *work, const double *vector, int M, int vectors, int slopes)
{
    const int H = chart->holes, columns = 2 * vectors;
    const V *f = (const V *)chart->f;
    const double *bell = vector + 2 + 5 * M + 11 * H, *reed = bell + 3 + 3 * (H + 1);
    V given[10];
    for (int n = 0; n < 3; n++) given[n] = v_all(bell[n]);
    given[3] = v_all(vector[0]);
    given[4] = v_all(vector[1]);
    if (slopes) ELEMENT_AT_NOTES(bell_slopes, given, work->load, work->load_slope);
    else ELEMENT_AT_NOTES(bell_values, given, work->load, work->load_slope);
    for (int n = 0; n < 8; n++) given[n] = v_all(reed[n]);
    given[8] = v_all(vector[0]);
    given[9] = v_all(vector[1]);
    if (isinf(reed[1])) {
        if (slopes) ELEMENT_AT_NOTES(lumped_reed_slopes, given, work->reed, work->reed_slope);
        else ELEMENT_AT_NOTES(lumped_reed_values, given, work->reed, work->reed_slope);
    } else {
        if (slopes) ELEMENT_AT_NOTES(reed_slopes, given, work->reed, work->reed_slope);
        else ELEMENT_AT_NOTES(reed_values, given, work->reed, work->reed_slope);
    }
}

/* The sweep to the reed in one column: fields kept where wanted; pressure at the holes' nodes into right. */
static INLINE void to_reed(const Chart *chart, const Work *work, const double *step, const int32_t *hole, int M, int vectors,
                           int c, C p, C u, const C *source, Field *fields, int stride, V *right, C *p_in, C *u_in)
{
    const int columns = 2 * vectors;
    const V f = ((const V *)chart->f)[c];
    for (int m = M - 1; m >= 0; m--) {
        const V *part = work->part + (size_t)m * 8 * columns + c;
        const C A = c_of(part[0], part[columns]), B = c_of(part[2 * columns], part[3 * columns]);
        const C Cc = c_of(part[4 * columns], part[5 * columns]), D = c_of(part[6 * columns], part[7 * columns]);
        Field *field = fields + (size_t)m * stride;
        if (fields) field->p2r = p.re, field->p2i = p.im, field->u2r = u.re, field->u2i = u.im;
        const C q = c_fma(B, u, c_mul(A, p));
        u = c_fma(D, u, c_mul(Cc, p));
        p = q;
        if (fields) field->p1r = p.re, field->p1i = p.im, field->u1r = u.re, field->u1i = u.im;
        const int h = hole[m];
        const V half = h >= 0 ? (V)work->half[(size_t)h * columns + c] : (V)(v_all(M_PI * step[m]) * f);
        p = c_add(p, c_times_j(half, u));
        if (h >= 0) {
            const V *shunt = work->shunt + (size_t)h * 2 * columns + c;
            u = c_fma(c_of(shunt[0], shunt[columns]), p, u);
            if (source) u = c_sub(u, source[h]);
            if (right) right[(size_t)h * 2 * vectors] = p.re, right[((size_t)h * 2 + 1) * vectors] = p.im;
        }
        if (fields) field->nr = p.re, field->ni = p.im, field->br = u.re, field->bi = u.im;
        p = c_add(p, c_times_j(half, u));
    }
    *p_in = p;
    *u_in = u;
}

static INLINE C to_bell(const Chart *chart, const Work *work, const double *step, const int32_t *hole, int M, int vectors, int j)
{
    const int columns = 2 * vectors, c = vectors + j;
    const V f = ((const V *)chart->f)[c];
    C p = c_of(v_all(1.0), v_all(0.0)), u = c_of(v_all(0.0), v_all(0.0));
    for (int m = 0; m < M; m++) {
        const int h = hole[m];
        const V half = h >= 0 ? (V)work->half[(size_t)h * columns + c] : (V)(v_all(M_PI * step[m]) * f);
        p = c_sub(p, c_times_j(half, u));
        if (h >= 0) {
            const V *shunt = work->shunt + (size_t)h * 2 * columns + c;
            V *left = work->left + (size_t)h * 2 * vectors + j;
            left[0] = p.re, left[vectors] = p.im;
            u = c_fms(c_of(shunt[0], shunt[columns]), p, u);
        }
        p = c_sub(p, c_times_j(half, u));
        const V *part = work->part + (size_t)m * 8 * columns + c;
        const C A = c_of(part[0], part[columns]), B = c_of(part[2 * columns], part[3 * columns]);
        const C Cc = c_of(part[4 * columns], part[5 * columns]), D = c_of(part[6 * columns], part[7 * columns]);
        const C q = c_fms(B, u, c_mul(D, p));
        u = c_fms(Cc, p, c_mul(A, u));
        p = q;
    }
    return p;
}

/* What does not depend on the note of every two openings, [a][b] for a < b with the bell last, and of each hole at [h][h]. */
static __attribute__((noinline)) void NAME(pairs_once)(const Chart *chart, Work *work, const double *vector, int M, int slopes)
{
    const int H = chart->holes, P = H + 1;
    const double *bell = vector + 2 + 5 * M + 11 * H, *position = bell + 3, *azimuth = position + P, *radius = azimuth + P;
    const V air[3] = {v_all(bell[2]), v_all(vector[0]), v_all(vector[1])};
    for (int a = 0; a < H; a++)
        for (int b = a; b < P; b++) {
            V *kept = work->pair_kept + (size_t)(a * P + b) * pair_slopes_kept;
            if (a == b) {
                const V own[4] = {v_all(radius[a]), air[0], air[1], air[2]};
                if (slopes) own_slopes_once(own, kept);
                else own_values_once(own, kept);
                continue;
            }
            const V pair[6] = {v_all(position[a] - position[b]), v_all(azimuth[a] - azimuth[b]),
                               v_all(0.5 * (radius[a] + radius[b])), air[0], air[1], air[2]};
            if (b == H) {
                if (slopes) bell_pair_slopes_once(pair, kept);
                else bell_pair_values_once(pair, kept);
            } else {
                if (slopes) pair_slopes_once(pair, kept);
                else pair_values_once(pair, kept);
            }
        }
}

/* Elimination without pivoting, each lane a system: solves [A | b] (P, P + 1) in place, the answer in the last column.
 * Gives the least square of a pivot over the largest entry below it: what pivoting would have kept from falling. */
static INLINE V eliminate(C *a, int P)
{
    const int row = P + 1;
    V least = v_all(1.0);
    for (int i = 0; i < P; i++) {
        const V pivot = c_square(a[i * row + i]);
        V largest = pivot;
        for (int r = i + 1; r < P; r++) largest = v_max(largest, c_square(a[r * row + i]));
        least = v_min(least, pivot / largest);
        const C inverse = c_inv(a[i * row + i]);
        for (int j = i + 1; j <= P; j++) a[i * row + j] = c_mul(a[i * row + j], inverse);
        for (int r = i + 1; r < P; r++) {
            const C share = a[r * row + i];
            for (int j = i + 1; j <= P; j++) a[r * row + j] = c_fms(share, a[i * row + j], a[r * row + j]);
        }
    }
    for (int i = P - 2; i >= 0; i--)
        for (int j = i + 1; j < P; j++) a[i * row + P] = c_fms(a[i * row + j], a[j * row + P], a[i * row + P]);
    return least;
}

/* Holes that any lane opens, in the order of the stations, then the bell; how many. */
static int NAME(listed_openings)(const Chart *chart, const int32_t *hole, int M, int vectors, int j, int *listed)
{
    int P = 0;
    for (int m = 0; m < M; m++) {
        const int h = hole[m];
        int open = 0;
        for (int i = 0; h >= 0 && i < W; i++) open |= chart->level[(int)((const V *)chart->which)[(size_t)h * vectors + j][i]] > 0.0;
        if (open) listed[P++] = h;
    }
    listed[P++] = chart->holes;
    return P;
}

/* The openings acting on each other at one vector of upper notes: outflow, pressure outside, what it adds to Z_in.
 * Holes are listed in the order of the stations, then the bell. */
static __attribute__((noinline)) V NAME(interact)(const Chart *chart, Work *work, const int *listed, int P, int vectors, int j,
                                                  int slopes, C u_in, C end, C *added)
{
    const int H = chart->holes, columns = 2 * vectors, all = H + 1;
    const V f = ((const V *)chart->f)[vectors + j];
    C right[P], left[P], loading[P], *Z = work->mutual, *A = work->system;
    V alone[2];
    const C per_flow = c_inv(u_in), load = c_of(work->load[vectors + j], work->load[columns + vectors + j]);
    for (int i = 0; i + 1 < P; i++) {
        const size_t at = (size_t)listed[i] * 2 * vectors + j;
        const C t = c_of(work->transfer[at], work->transfer[at + vectors]);
        right[i] = c_mul(t, c_mul(c_of(work->right[at], work->right[at + vectors]), per_flow));
        left[i] = c_mul(t, c_of(work->left[at], work->left[at + vectors]));
        loading[i] = c_mul(t, c_of(work->gain[at], work->gain[at + vectors]));
    }
    loading[P - 1] = c_inv(load);
    right[P - 1] = per_flow;
    left[P - 1] = c_mul(loading[P - 1], end);
    for (int i = 0; i < P; i++)
        for (int k = i; k < P; k++) {
            const int a = listed[i] < listed[k] ? listed[i] : listed[k], b = listed[i] < listed[k] ? listed[k] : listed[i];
            const V *kept = work->pair_kept + (size_t)(a * all + b) * pair_slopes_kept;
            V *out = slopes ? work->pair + (size_t)(i * P + k) * PAIR_PARTS : alone;
            if (a == H) out[0] = v_all(0.0);
            else if (a == b) slopes ? own_slopes_at(kept, f, out) : own_values_at(kept, f, out);
            else if (b == H) slopes ? bell_pair_slopes_at(kept, f, out) : bell_pair_values_at(kept, f, out);
            else slopes ? pair_slopes_at(kept, f, out) : pair_values_at(kept, f, out);
            Z[i * P + k] = Z[k * P + i] = c_of(out[0], a == b ? v_all(0.0) : out[1]);
        }
    for (int k = 0; k < P; k++) {
        C above = c_of(v_all(0.0), v_all(0.0)), below = above;
        for (int i = 0; i < P; i++) below = c_fma(right[i], Z[i * P + k], below);
        for (int i = 0; i < P; i++) { /* left_i sum of right from i on, right_i sum of left before i */
            C found = c_fma(left[i], below, c_mul(right[i], above));
            found = c_fms(loading[i], Z[i * P + k], found);
            A[i * (P + 1) + k] = c_sub(c_of(v_all(i == k ? 1.0 : 0.0), v_all(0.0)), found);
            below = c_fms(right[i], Z[i * P + k], below);
            above = c_fma(left[i], Z[i * P + k], above);
        }
    }
    for (int i = 0; i < P; i++) A[i * (P + 1) + P] = right[i];
    const V least = eliminate(A, P);
    C sum = c_of(v_all(0.0), v_all(0.0));
    for (int i = 0; i < P; i++) {
        C e = c_of(v_all(0.0), v_all(0.0));
        for (int k = 0; k < P; k++) e = c_fma(Z[i * P + k], A[k * (P + 1) + P], e);
        work->outflow[(size_t)listed[i] * vectors + j] = A[i * (P + 1) + P];
        work->pressure[(size_t)listed[i] * vectors + j] = e;
        sum = c_fma(right[i], e, sum);
    }
    *added = sum;
    return least;
}

/* At the lips in one column: reflectance, admittance, pressure per pressure at the bore's entry, reference. */
typedef struct { C reflection, admittance, entering, pressure; V reference; } Lips;

static INLINE Lips lips_of(const Work *work, int columns, int c, C bore)
{
    const V *reed = work->reed + c;
    const C A = c_of(reed[0], reed[columns]), B = c_of(reed[2 * columns], reed[3 * columns]);
    const C Cc = c_of(reed[4 * columns], reed[5 * columns]), D = c_of(reed[6 * columns], reed[7 * columns]);
    Lips found;
    found.reference = reed[10 * columns];
    found.pressure = c_fma(B, bore, A);
    found.entering = c_mul(c_fma(D, bore, Cc), c_inv(found.pressure));
    found.admittance = c_add(found.entering, c_of(reed[8 * columns], reed[9 * columns]));
    const C sum = c_of(found.reference + found.admittance.re, found.admittance.im);
    found.reflection = c_mul(c_of(found.reference - found.admittance.re, -found.admittance.im), c_inv(sum));
    return found;
}

static INLINE V angle(C z)
{
    V found;
    for (int i = 0; i < W; i++) found[i] = atan2(z.im[i], z.re[i]);
    return found;
}

#define SECANT 0.1 /* cents to either side */

static INLINE void phases(C below, C above, V *phase, V *fall)
{
    *phase = angle(c_add(below, above));
    *fall = angle(c_mul(below, c_conj(above)));
}

/* Weights g with d error = Re(g d reflectance), for both frequencies. */
static INLINE void reflection_weights(C below, C above, C *low, C *high)
{
    V phase, fall;
    phases(below, above, &phase, &fall);
    const V per_fall = v_all(1.0) / fall, share = phase * per_fall * per_fall, unit = v_all(-2.0 * SECANT);
    const C both = c_scale(per_fall, c_inv(c_add(below, above)));
    *low = c_times_j(unit, c_sub(both, c_scale(share, c_inv(below))));
    *high = c_times_j(unit, c_add(both, c_scale(share, c_inv(above))));
}

/* What one note vector's slopes are made of. */
typedef struct {
    C low, high, whole;          /* weights of the chain's Z_in at both frequencies, and of the whole's, fields' U_in = 1 */
    C share;                     /* flow out of the bell of the whole, per unit input flow */
    const int *listed;
    int P, M, vectors, j, interaction;
    const int32_t *hole;
} Notes;

/* Re(sum over both columns and nodes): adds to into[n] what slopes [numbers][rows][K] make of Q [rows][K]. */
static INLINE void contract(const double *slope, int numbers, int stride, int rows, int K, const V *Q, V *into, int step)
{
    for (int n = 0; n < numbers; n++) {
        const double *at = slope + (size_t)n * stride;
        V a = v_all(0.0), b = a;
        int k = 0;
        for (; k + 2 <= rows * K; k += 2) {
            a += v_all(at[k]) * Q[k];
            b += v_all(at[k + 1]) * Q[k + 1];
        }
        if (k < rows * K) a += v_all(at[k]) * Q[k];
        into[(size_t)n * step] += a + b;
    }
}

static INLINE void spread(C g, const V *weight, int columns, int c, int K, V *re, V *im)
{
    for (int k = 0; k < K; k++) {
        const V w = weight[(size_t)k * columns + c];
        re[k] += g.re * w;
        im[k] -= g.im * w;
    }
}

static __attribute__((noinline)) void NAME(slopes_of_bore)(const Chart *chart, Work *work, const Notes *n)
{
    const int K = chart->nodes, vectors = n->vectors, columns = 2 * vectors, j = n->j, M = n->M;
    const V *weight = (const V *)chart->weight, *f = (const V *)chart->f;
    const size_t step_at = 2 + 4 * (size_t)M;
    for (int m = 0; m < M; m++) {
        V Q[8 * K];
        memset(Q, 0, sizeof Q);
        C y[2], series = c_of(v_all(0.0), v_all(0.0));
        V by_series = v_all(0.0);
        for (int side = 0; side < 2; side++) {
            const int c = side * vectors + j;
            const Field *q = work->chain + (size_t)m * columns + c;
            const C w = side ? n->high : n->low;
            C p1 = c_of(q->p1r, q->p1i), u1 = c_of(q->u1r, q->u1i), p2 = c_of(q->p2r, q->p2i), u2 = c_of(q->u2r, q->u2i);
            C node = c_of(q->nr, q->ni), beyond = c_of(q->br, q->bi);
            C wu = c_mul(w, u1), wp = c_neg(c_mul(w, p1));
            C ga = c_mul(wu, p2), gb = c_mul(wu, u2), gc = c_mul(wp, p2), gd = c_mul(wp, u2);
            y[side] = c_neg(c_mul(w, c_mul(node, node)));
            series = c_mul(w, c_add(c_mul(u1, u1), c_mul(beyond, beyond)));
            if (side && n->interaction) {
                const Field *t = work->total + (size_t)m * vectors + j;
                p1 = c_of(t->p1r, t->p1i), u1 = c_of(t->u1r, t->u1i), p2 = c_of(t->p2r, t->p2i), u2 = c_of(t->u2r, t->u2i);
                node = c_of(t->nr, t->ni), beyond = c_of(t->br, t->bi);
                wu = c_mul(n->whole, u1), wp = c_neg(c_mul(n->whole, p1));
                ga = c_fma(wu, p2, ga), gb = c_fma(wu, u2, gb), gc = c_fma(wp, p2, gc), gd = c_fma(wp, u2, gd);
                y[1] = c_fms(n->whole, c_mul(node, node), y[1]);
                series = c_fma(n->whole, c_add(c_mul(u1, u1), c_mul(beyond, beyond)), series);
            }
            spread(ga, weight, columns, c, K, Q, Q + K);
            spread(c_scale(f[c], gb), weight, columns, c, K, Q + 2 * K, Q + 3 * K);
            spread(c_scale(f[c], gc), weight, columns, c, K, Q + 4 * K, Q + 5 * K);
            spread(gd, weight, columns, c, K, Q + 6 * K, Q + 7 * K);
            by_series -= series.im * f[c]; /* Re(j f g) */
        }
        V by_number[6];
        for (int p = 0; p < 6; p++) by_number[p] = v_all(0.0);
        contract(work->segment_slope + (size_t)m * 48 * K, 6, 8 * K, 8, K, Q, by_number, 1);
        for (int p = 0; p < 4; p++) work->slope[(2 + (size_t)p * M + m) * vectors + j] += by_number[p];
        for (int p = 0; p < 2; p++) work->slope[(size_t)p * vectors + j] += by_number[4 + p];
        if (n->hole[m] < 0) work->slope[(step_at + m) * vectors + j] += v_all(M_PI) * by_series;
        else { /* kept for the holes */
            work->by_series[n->hole[m]] = by_series;
            work->by_shunt[2 * n->hole[m]] = y[0];
            work->by_shunt[2 * n->hole[m] + 1] = y[1];
        }
    }
}

static __attribute__((noinline)) void NAME(slopes_of_holes)(const Chart *chart, Work *work, const Notes *n)
{
    const int K = chart->nodes, vectors = n->vectors, columns = 2 * vectors, j = n->j, H = chart->holes, M = n->M;
    const V *weight = (const V *)chart->weight, *f = (const V *)chart->f, *which = (const V *)chart->which;
    const size_t hole_at = 2 + 5 * (size_t)M;
    for (int h = 0; h < H; h++) {
        const C *by_shunt = work->by_shunt + 2 * h;
        const V by_series = work->by_series[h];
        C transfer = c_of(v_all(0.0), v_all(0.0)), loading = transfer;
        if (n->interaction) {
            const int m = chart->station[h];
            const Field *t = work->total + (size_t)m * vectors + j;
            const C e = work->pressure[(size_t)h * vectors + j], we = c_mul(n->whole, e), node = c_of(t->nr, t->ni);
            const size_t at = (size_t)h * 2 * vectors + j;
            const C own = c_of(work->transfer[at], work->transfer[at + vectors]), gain = c_of(work->gain[at], work->gain[at + vectors]);
            transfer = c_mul(we, c_sub(c_add(node, node), c_mul(e, gain)));
            loading = c_neg(c_mul(c_mul(we, e), own));
        }
        V by_number[13];
        for (int p = 0; p < 13; p++) by_number[p] = v_all(0.0);
        for (int l = 0; l < chart->levels; l++) {
            if (!chart->used[h * chart->levels + l]) continue;
            const VI here = which[(size_t)h * vectors + j] == v_all(l);
            int any = 0;
            for (int i = 0; i < W; i++) any |= here[i] != 0;
            if (!any) continue;
            const V mask = v_pick(here, v_all(1.0), v_all(0.0));
            const int open = chart->level[l] > 0.0;
            V Q[6 * K];
            memset(Q, 0, sizeof Q);
            for (int side = 0; side < 2; side++) {
                const int c = side * vectors + j;
                const V scale = mask * (open ? (V)(v_all(1.0) / f[c]) : (V)f[c]);
                spread(c_scale(scale, by_shunt[side]), weight, columns, c, K, Q, Q + K);
            }
            const double *slope = work->hole_slope + (size_t)(l * H + h) * 13 * HOLE_PARTS * K;
            if (open && n->interaction) {
                const int c = vectors + j;
                spread(c_scale(mask / f[c], transfer), weight, columns, c, K, Q + 2 * K, Q + 3 * K);
                spread(c_scale(mask, loading), weight, columns, c, K, Q + 4 * K, Q + 5 * K);
                contract(slope, 13, HOLE_PARTS * K, 6, K, Q, by_number, 1);
            } else
                contract(slope, 13, HOLE_PARTS * K, 2, K, Q, by_number, 1);
            for (int p = 0; p < 13; p++) by_number[p] += mask * by_series * v_all(slope[((size_t)p * HOLE_PARTS + 6) * K]);
        }
        for (int p = 0; p < 11; p++) work->slope[(hole_at + (size_t)p * H + h) * vectors + j] += by_number[p];
        for (int p = 0; p < 2; p++) work->slope[(size_t)p * vectors + j] += by_number[11 + p];
    }
}

/* Slopes through the mutual impedances, by where the openings lie and the air outside. */
static __attribute__((noinline)) void NAME(slopes_of_outside)(const Chart *chart, Work *work, const Notes *n)
{
    const int vectors = n->vectors, j = n->j, H = chart->holes, all = H + 1, M = n->M;
    const size_t bell_at = 2 + 5 * (size_t)M + 11 * H, at = bell_at + 3;
    V *slope = work->slope + j, outside[3] = {v_all(0.0), v_all(0.0), v_all(0.0)};
    for (int i = 0; i < n->P; i++)
        for (int k = i; k < n->P; k++) {
            const int a = n->listed[i] < n->listed[k] ? n->listed[i] : n->listed[k], b = n->listed[i] < n->listed[k] ? n->listed[k] : n->listed[i];
            if (a == H) continue;
            const C wa = work->outflow[(size_t)a * vectors + j], wb = work->outflow[(size_t)b * vectors + j];
            const C g = c_mul(n->whole, c_mul(wa, wb));
            const V *out = work->pair + (size_t)(i * n->P + k) * PAIR_PARTS;
            if (a == b) {
                slope[(at + 2 * all + a) * vectors] += g.re * out[1];
                for (int p = 0; p < 3; p++) outside[p] += g.re * out[2 + p];
                continue;
            }
            V by[6];
            for (int p = 0; p < 6; p++) by[p] = v_all(2.0) * (g.re * out[2 + 2 * p] - g.im * out[3 + 2 * p]);
            slope[(at + a) * vectors] += by[0], slope[(at + b) * vectors] -= by[0];
            slope[(at + all + a) * vectors] += by[1], slope[(at + all + b) * vectors] -= by[1];
            slope[(at + 2 * all + a) * vectors] += v_all(0.5) * by[2], slope[(at + 2 * all + b) * vectors] += v_all(0.5) * by[2];
            for (int p = 0; p < 3; p++) outside[p] += by[3 + p];
        }
    slope[(bell_at + 2) * vectors] += outside[0];
    slope[0] += outside[1];
    slope[vectors] += outside[2];
}

/* Slopes by bell and reed; by_load and lips: weights of the load and of the lips' admittance and reference. */
static __attribute__((noinline)) void NAME(slopes_of_ends)(const Chart *chart, Work *work, const Notes *n, const C *by_load,
                                                           const C *by_lips, const C *by_reference, const C *bore, const Lips *lips)
{
    const int vectors = n->vectors, columns = 2 * vectors, j = n->j, H = chart->holes, M = n->M;
    const size_t bell_at = 2 + 5 * (size_t)M + 11 * H, reed_at = bell_at + 3 + 3 * (H + 1);
    for (int side = 0; side < 2; side++) {
        const int c = side * vectors + j;
        for (int p = 0; p < 5; p++) {
            const V *s = work->load_slope + (size_t)p * 2 * columns + c;
            const V found = by_load[side].re * s[0] - by_load[side].im * s[columns];
            work->slope[(p < 3 ? bell_at + p : (size_t)p - 3) * vectors + j] += found;
        }
        const C per = c_mul(by_lips[side], c_inv(lips[side].pressure));
        const C g[6] = {c_neg(c_mul(per, lips[side].entering)), c_neg(c_mul(c_mul(per, lips[side].entering), bore[side])), per,
                        c_mul(per, bore[side]), by_lips[side], by_reference[side]};
        for (int p = 0; p < 10; p++) {
            const V *s = work->reed_slope + (size_t)p * 11 * columns + c;
            V found = g[5].re * s[10 * columns];
            for (int r = 0; r < 5; r++) found += g[r].re * s[2 * r * columns] - g[r].im * s[(2 * r + 1) * columns];
            work->slope[(p < 8 ? reed_at + p : (size_t)p - 8) * vectors + j] += found;
        }
    }
}

/* Fields of the whole for unit input flow, driven by the pressures found outside. */
static INLINE C driven(const Chart *chart, Work *work, const double *step, const Notes *n, C u_chain)
{
    const int vectors = n->vectors, columns = 2 * vectors, j = n->j, H = chart->holes;
    C source[H + 1], p_in, u_in;
    for (int h = 0; h < H; h++) {
        const size_t at = (size_t)h * 2 * vectors + j;
        source[h] = c_mul(c_of(work->transfer[at], work->transfer[at + vectors]), work->pressure[(size_t)h * vectors + j]);
    }
    to_reed(chart, work, step, n->hole, n->M, vectors, vectors + j, work->pressure[(size_t)H * vectors + j],
            c_of(v_all(0.0), v_all(0.0)), source, work->total + j, vectors, 0, &p_in, &u_in);
    const C share = c_mul(c_of(v_all(1.0) - u_in.re, -u_in.im), c_inv(u_chain));
    for (int m = 0; m < n->M; m++) {
        const V *plain = (const V *)(work->chain + (size_t)m * columns + vectors + j);
        V *total = (V *)(work->total + (size_t)m * vectors + j);
        for (int r = 0; r < 12; r += 2) {
            const C found = c_fma(share, c_of(plain[r], plain[r + 1]), c_of(total[r], total[r + 1]));
            total[r] = found.re, total[r + 1] = found.im;
        }
    }
    return share;
}

static INLINE C chain_of(const C z, C w) { return c_neg(c_mul(w, c_mul(z, z))); }

static __attribute__((noinline)) void NAME(notes)(const Chart *chart, Work *work, const double *vector, const int32_t *hole, int M,
                                                  int vectors, int j, int slopes, int interaction, V *error, V *alone, V *least)
{
    const int H = chart->holes, columns = 2 * vectors;
    const double *step = vector + 2 + 4 * M;
    const C one = c_of(v_all(1.0), v_all(0.0)), none = c_of(v_all(0.0), v_all(0.0));
    C plain[2], u_in[2], bore[2];
    Lips lips[2];
    V phase, fall;
    for (int side = 0; side < 2; side++) {
        const int c = side * vectors + j;
        C p;
        to_reed(chart, work, step, hole, M, vectors, c, c_of(work->load[c], work->load[columns + c]), one, 0,
                slopes ? work->chain + c : 0, columns, side ? work->right + j : 0, &p, &u_in[side]);
        plain[side] = c_mul(u_in[side], c_inv(p));
        lips[side] = lips_of(work, columns, c, plain[side]);
        bore[side] = plain[side];
    }
    phases(lips[0].reflection, lips[1].reflection, &phase, &fall);
    *alone = v_all(2.0 * SECANT) * phase / fall;
    *least = v_all(1.0);
    int listed[H + 1], P = 0;
    if (interaction) {
        const C end = to_bell(chart, work, step, hole, M, vectors, j);
        P = NAME(listed_openings)(chart, hole, M, vectors, j, listed);
        if (slopes)
            for (int h = 0; h <= H; h++) work->outflow[(size_t)h * vectors + j] = work->pressure[(size_t)h * vectors + j] = none;
        C added;
        *least = NAME(interact)(chart, work, listed, P, vectors, j, slopes, u_in[1], end, &added);
        bore[1] = c_inv(c_add(c_inv(plain[1]), added));
        bore[0] = c_add(plain[0], c_sub(bore[1], plain[1]));
        for (int side = 0; side < 2; side++) lips[side] = lips_of(work, columns, side * vectors + j, bore[side]);
        phases(lips[0].reflection, lips[1].reflection, &phase, &fall);
    }
    *error = v_all(2.0 * SECANT) * phase / fall;
    if (!slopes) return;
    C by_reflection[2], by_lips[2], by_reference[2], by_bore[2], by_load[2];
    reflection_weights(lips[0].reflection, lips[1].reflection, &by_reflection[0], &by_reflection[1]);
    for (int side = 0; side < 2; side++) {
        const C sum = c_inv(c_of(lips[side].reference + lips[side].admittance.re, lips[side].admittance.im));
        const C w = c_scale(v_all(2.0), c_mul(by_reflection[side], c_mul(sum, sum))), per = c_inv(lips[side].pressure);
        by_lips[side] = c_scale(-lips[side].reference, w);
        by_reference[side] = c_mul(w, lips[side].admittance);
        by_bore[side] = c_mul(by_lips[side], c_mul(per, per));
    }
    Notes n = {.listed = listed, .P = P, .M = M, .vectors = vectors, .j = j, .interaction = interaction, .hole = hole};
    const C flow[2] = {c_inv(u_in[0]), c_inv(u_in[1])};
    const C low = chain_of(plain[0], by_bore[0]);
    const C high = interaction ? c_neg(chain_of(plain[1], by_bore[0])) : chain_of(plain[1], by_bore[1]);
    n.low = c_mul(low, c_mul(flow[0], flow[0]));
    n.high = c_mul(high, c_mul(flow[1], flow[1]));
    by_load[0] = n.low;
    by_load[1] = n.high;
    if (interaction) {
        n.whole = chain_of(bore[1], c_add(by_bore[0], by_bore[1]));
        n.share = driven(chart, work, step, &n, u_in[1]);
        by_load[1] = c_fma(n.whole, c_mul(n.share, n.share), by_load[1]);
    }
    NAME(slopes_of_bore)(chart, work, &n);
    NAME(slopes_of_holes)(chart, work, &n);
    if (interaction) NAME(slopes_of_outside)(chart, work, &n);
    NAME(slopes_of_ends)(chart, work, &n, by_load, by_lips, by_reference, bore, lips);
}

/* One element at one frequency a lane. */
#define ELEMENT_HERE(name, given, f, into)                                                                          \
    do {                                                                                                            \
        V kept[name##_kept];                                                                                        \
        name##_once(given, kept);                                                                                   \
        name##_at(kept, f, into);                                                                                   \
    } while (0)

/* The chain at one vector of columns, each with its own frequency and fingering: chart->f and chart->which say which. */
static __attribute__((noinline)) void NAME(chain_here)(const Chart *chart, Work *work, const double *vector, int M)
{
    const int H = chart->holes;
    const V f = ((const V *)chart->f)[1], *which = (const V *)chart->which;
    const double *segment = vector + 2, *hole = vector + 2 + 5 * M;
    V given[14], out[11];
    for (int m = 0; m < M; m++) {
        for (int n = 0; n < 4; n++) given[n] = v_all(segment[n * M + m]);
        given[4] = v_all(vector[0]), given[5] = v_all(vector[1]);
        ELEMENT_HERE(segment_values, given, f, out);
        for (int r = 0; r < 8; r++) work->part[(size_t)m * 16 + 2 * r + 1] = r > 1 && r < 6 ? (V)(out[r] * f) : (V)out[r];
    }
    given[11] = v_all(vector[0]), given[12] = v_all(vector[1]);
    for (int h = 0; h < H; h++) {
        for (int n = 0; n < 11; n++) given[n] = v_all(hole[n * H + h]);
        V found[8];
        for (int r = 0; r < 8; r++) found[r] = v_all(0.0);
        for (int l = 0; l < chart->levels; l++) {
            const VI here = which[h] == v_all(l);
            int any = 0;
            for (int i = 0; i < W; i++) any |= here[i] != 0;
            if (!any) continue;
            const int open = chart->level[l] > 0.0;
            given[13] = v_all(chart->level[l]);
            if (!open) ELEMENT_HERE(closed_hole_values, given, f, out);
            else if (chart->level[l] >= 1.0) ELEMENT_HERE(open_hole_values, given, f, out);
            else ELEMENT_HERE(part_hole_values, given, f, out);
            const V scale = open ? (V)(v_all(1.0) / f) : (V)f;
            out[0] *= scale, out[1] *= scale, out[2] /= f, out[3] /= f, out[6] *= f;
            for (int r = 0; r < HOLE_PARTS; r++) found[r] = v_pick(here, out[r], found[r]);
        }
        work->shunt[4 * h + 1] = found[0], work->shunt[4 * h + 3] = found[1];
        work->transfer[2 * h] = found[2], work->transfer[2 * h + 1] = found[3];
        work->gain[2 * h] = found[4], work->gain[2 * h + 1] = found[5];
        work->half[2 * h + 1] = found[6];
    }
}

/* See kernel.h. */
void NAME(admittances)(const Chart *chart, const double *vector, const int32_t *hole, int M, int interaction, char *memory,
                       double *admittance, double *least)
{
    const int n = chart->notes, padded = chart->padded, H = chart->holes;
    Chart here = *chart;
    V f[2], which[H + 1];
    here.notes = here.padded = W, here.f = (const double *)f, here.which = (const double *)which;
    Work work_, *work = &work_;
    lay_out(work, &here, M, 1, 0, memory);
    if (interaction) NAME(pairs_once)(&here, work, vector, M, 0);
    for (int first = 0; first < padded; first += W) {
        f[0] = f[1] = v_load(chart->f + first);
        for (int h = 0; h < H; h++) which[h] = v_load(chart->which + (size_t)h * padded + first);
        NAME(chain_here)(&here, work, vector, M);
        NAME(ends)(&here, work, vector, M, 1, 0);
        C p, u, bore, added;
        V trust = v_all(1.0);
        to_reed(&here, work, vector + 2 + 4 * M, hole, M, 1, 1, c_of(work->load[1], work->load[3]),
                c_of(v_all(1.0), v_all(0.0)), 0, 0, 0, work->right, &p, &u);
        bore = c_mul(p, c_inv(u));
        if (interaction) {
            int listed[H + 1];
            const int P = NAME(listed_openings)(&here, hole, M, 1, 0, listed);
            const C end = to_bell(&here, work, vector + 2 + 4 * M, hole, M, 1, 0);
            trust = NAME(interact)(&here, work, listed, P, 1, 0, 0, u, end, &added);
            bore = c_add(bore, added);
        }
        const Lips lips = lips_of(work, 2, 1, c_inv(bore));
        for (int i = 0; i < W && first + i < n; i++) {
            admittance[2 * (first + i)] = lips.admittance.re[i];
            admittance[2 * (first + i) + 1] = lips.admittance.im[i];
            least[first + i] = trust[i];
        }
    }
}

int NAME(chart_width)(void) { return W; }

size_t NAME(chart_memory)(const Chart *chart, int M, int slopes)
{
    Work work;
    return lay_out(&work, chart, M, chart->padded / W, slopes, 0);
}

/* See kernel.h. */
void NAME(chart_errors)(const Chart *chart, int ducts, const double *vector, const int32_t *hole, int M, int slopes,
                        int interaction, char *memory, double *error, double *alone, double *slope, double *least)
{
    const int vectors = chart->padded / W, N = chart->notes, H = chart->holes;
    const size_t count = 2 + 5 * (size_t)M + 11 * H + 3 + 3 * (H + 1) + 8;
    Work work_, *work = &work_;
    lay_out(work, chart, M, vectors, slopes, memory);
    for (int duct = 0; duct < ducts; duct++, vector += count, hole += M, error += N, alone += N, least += N) {
        NAME(segments)(chart, work, vector, M, slopes);
        NAME(holes)(chart, work, vector, M, slopes);
        NAME(ends)(chart, work, vector, M, vectors, slopes);
        NAME(between)(chart, work, M, vectors);
        if (interaction) NAME(pairs_once)(chart, work, vector, M, slopes);
        if (slopes) memset(work->slope, 0, sizeof(V) * count * vectors);
        for (int m = 0; m < M; m++)
            if (hole[m] >= 0) chart->station[hole[m]] = m;
        for (int j = 0; j < vectors; j++) {
            V found[3];
            NAME(notes)(chart, work, vector, hole, M, vectors, j, slopes, interaction, &found[0], &found[1], &found[2]);
            for (int i = 0; i < W && j * W + i < N; i++) {
                error[j * W + i] = found[0][i];
                alone[j * W + i] = found[1][i];
                least[j * W + i] = found[2][i];
            }
        }
        if (!slopes) continue;
        for (size_t n = 0; n < count; n++)
            for (int j = 0; j < vectors; j++)
                for (int i = 0; i < W && j * W + i < N; i++) slope[(size_t)(j * W + i) * count + n] = work->slope[n * vectors + j][i];
        slope += N * count;
    }
}
