/* The openings acting on each other through the air outside; see acoustics/interaction.py. */

/* How far two openings lie apart [m]: along the body, or straight through the air where they are on two tubes. Into way:
 * whether they are, and how the five numbers of the first and then of the second move that; see `ways_outside`. */
static double NAME(way_between)(const double *opening, int P, int a, int b, double *way)
{
    const double *depth = opening, *azimuth = depth + P, *radius = azimuth + P, *front = radius + P, *right = front + P;
    const double x = depth[a] - depth[b];
    memset(way, 0, sizeof(double) * WAY_PARTS);
    way[0] = front[a] != front[b] || right[a] != right[b];
    way[1] = 1.0, way[6] = -1.0;
    if (!way[0]) return x;
    const int ends[2] = {a, b};
    double cosine[2], sine[2];
    for (int i = 0; i < 2; i++) { /* the bell, the last, sounds on its axis */
        const int off = ends[i] + 1 < P;
        cosine[i] = off ? cos(azimuth[ends[i]]) : 0.0, sine[i] = off ? sin(azimuth[ends[i]]) : 0.0;
    }
    const double y = front[a] + radius[a] * cosine[0] - front[b] - radius[b] * cosine[1];
    const double z = right[a] + radius[a] * sine[0] - right[b] - radius[b] * sine[1];
    const double apart = sqrt(x * x + y * y + z * z);
    for (int i = 0; i < 2; i++) {
        const double per = (i ? -1.0 : 1.0) / apart, c = cosine[i], s = sine[i];
        const double by[5] = {x, radius[ends[i]] * (z * c - y * s), y * c + z * s, y, z};
        for (int row = 0; row < 5; row++) way[1 + 5 * i + row] = per * by[row];
    }
    return apart;
}

/* What does not depend on the note of every two openings, [a][b] for a < b with the bell last, and of each hole at [h][h]. */
static __attribute__((noinline)) void NAME(pairs_once)(const Chart *chart, Work *work, const double *vector, int M, int slopes)
{
    const int H = chart->holes, P = H + 1;
    const double *bell = vector + 2 + 5 * M + 11 * H, *azimuth = bell + 3 + P, *radius = azimuth + P;
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
            double *way = work->way + (size_t)(a * P + b) * WAY_PARTS;
            const V pair[6] = {v_all(NAME(way_between)(bell + 3, P, a, b, way)), v_all(azimuth[a] - azimuth[b]),
                               v_all(0.5 * (radius[a] + radius[b])), air[0], air[1], air[2]};
            if (b == H || way[0]) {
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
            else if (b == H || work->way[(a * all + b) * WAY_PARTS]) slopes ? bell_pair_slopes_at(kept, f, out) : bell_pair_values_at(kept, f, out);
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
