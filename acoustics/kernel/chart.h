/* A chart on a batch of ducts, W notes at a time: what acoustics/charts.py and acoustics/sweeps.py do in NumPy.
 *
 * Elements come from elements.h at the nodes, W stations or holes at a time. Polynomials give them at the notes; there a
 * lane is a note. Columns are vectors of notes: `vectors` of them at the lower frequency of the secant, as many at the
 * upper. Names and signs are those of the Python modules, where the derivation stands. */

#include "work.h"
#include "nodes.h"
#include "sweeps.h"
#include "outside.h"
#include "slopes.h"
#include "scan.h"

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
    const size_t count = 2 + 5 * (size_t)M + 11 * H + 3 + 5 * (H + 1) + 8;
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
