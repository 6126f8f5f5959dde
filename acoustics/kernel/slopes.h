/* Slopes of the notes by every element, from products of fields; the table stands in acoustics/sweeps.py. */

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

/* Adds to into[numbers] what an element's slopes make of weights at both frequencies: at every node, rows of its parts,
 * real and imaginary, from slopes [K][parts][numbers]; low and high [rows], with imaginary parts negative, so that products
 * are real parts. The nodes' shares lie `step` apart. */
#define GATHER(name, rows, parts, numbers, both)                                                                    \
    static INLINE void name(const double *slope, int K, const V *low, const V *high, const V *at, int step, V *into) \
    {                                                                                                               \
        V sum[numbers];                                                                                             \
        _Pragma("GCC unroll 16") for (int n = 0; n < numbers; n++) sum[n] = into[n];                                \
        for (int k = 0; k < K; k++, slope += parts * numbers, at += step) {                                         \
            const V up = at[step / 2];                                                                              \
            _Pragma("GCC unroll 8") for (int r = 0; r < rows; r++) {                                                \
                V q = high[r] * up;                                                                                 \
                if (both) q += low[r] * at[0];                                                                      \
                _Pragma("GCC unroll 16") for (int n = 0; n < numbers; n++) sum[n] += v_all(slope[r * numbers + n]) * q; \
            }                                                                                                       \
        }                                                                                                           \
        _Pragma("GCC unroll 16") for (int n = 0; n < numbers; n++) into[n] = sum[n];                                \
    }

GATHER(gather_segment, 8, 8, 6, 1)
GATHER(gather_shunt, 2, HOLE_PARTS, 13, 1)
GATHER(gather_outside, 4, HOLE_PARTS, 13, 0)

static __attribute__((noinline)) void NAME(slopes_of_bore)(const Chart *chart, Work *work, const Notes *n)
{
    const int K = chart->nodes, vectors = n->vectors, columns = 2 * vectors, j = n->j, M = n->M;
    const V *weight = (const V *)chart->weight, *f = (const V *)chart->f;
    const size_t step_at = 2 + 4 * (size_t)M;
    for (int m = 0; m < M; m++) {
        V by[2][8];
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
            V *to = by[side];
            to[0] = ga.re, to[1] = -ga.im, to[2] = f[c] * gb.re, to[3] = -f[c] * gb.im;
            to[4] = f[c] * gc.re, to[5] = -f[c] * gc.im, to[6] = gd.re, to[7] = -gd.im;
            by_series -= series.im * f[c]; /* Re(j f g) */
        }
        V by_number[6];
        for (int p = 0; p < 6; p++) by_number[p] = v_all(0.0);
        gather_segment(work->segment_slope + (size_t)m * 48 * K, K, by[0], by[1], weight + j, columns, by_number);
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
            V by[2][2];
            for (int side = 0; side < 2; side++) {
                const int c = side * vectors + j;
                const V scale = mask * (open ? (V)(v_all(1.0) / f[c]) : (V)f[c]);
                by[side][0] = scale * by_shunt[side].re, by[side][1] = -scale * by_shunt[side].im;
            }
            const double *slope = work->hole_slope + (size_t)(l * H + h) * 13 * HOLE_PARTS * K;
            gather_shunt(slope, K, by[0], by[1], weight + j, columns, by_number);
            if (open && n->interaction) {
                const V scale = mask / f[vectors + j];
                const V up[4] = {scale * transfer.re, -scale * transfer.im, mask * loading.re, -mask * loading.im};
                gather_outside(slope + 26, K, up, up, weight + j, columns, by_number);
            }
            for (int p = 0; p < 13; p++) by_number[p] += mask * by_series * v_all(slope[6 * 13 + p]);
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
            const double *way = work->way + (size_t)(a * all + b) * WAY_PARTS;
            for (int row = 0; row < 5; row++) {
                if (row && !way[0]) break;
                slope[(at + row * all + a) * vectors] += v_all(way[1 + row]) * by[0];
                slope[(at + row * all + b) * vectors] += v_all(way[6 + row]) * by[0];
            }
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
    const size_t bell_at = 2 + 5 * (size_t)M + 11 * H, reed_at = bell_at + 3 + 5 * (H + 1);
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
