/* Input admittance of single columns, elements at the true frequency; see acoustics/scan.py. */

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
