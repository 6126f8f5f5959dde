/* Elements at the nodes, W stations or holes at a time, and at the notes, where a lane is a note. */

/* One element at every node, for W of its kind at a time: values [many][columns][K], slopes [many][K][columns][numbers]. */
#define ELEMENT_AT_NODES(name, given, many, value, slope)                                                           \
    do {                                                                                                            \
        enum { columns = name##_columns, numbers = name##_rows - 1 };                                               \
        V kept[name##_kept], out[name##_rows * columns];                                                            \
        name##_once(given, kept);                                                                                   \
        for (int k = 0; k < K; k++) {                                                                               \
            name##_at(kept, v_all(chart->node[k]), out);                                                            \
            for (int i = 0; i < (many); i++)                                                                        \
                for (int r = 0; r < columns; r++) {                                                                 \
                    double *by = (slope) + (((size_t)i * K + k) * columns + r) * numbers;                           \
                    (value)[((size_t)i * columns + r) * K + k] = ((const double *)(out + r))[i];                    \
                    for (int p = 0; p < numbers; p++) by[p] = ((const double *)(out + (p + 1) * columns + r))[i];   \
                }                                                                                                   \
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
        double *value = work->segment + (size_t)first * 8 * K, *slope = work->segment_slope + (size_t)first * 48 * K;
        if (slopes) ELEMENT_AT_NODES(segment_slopes, given, many, value, slope);
        else ELEMENT_AT_NODES(segment_values, given, many, value, slope);
    }
}

#define HOLES_OF(kind)                                                                                              \
    static __attribute__((noinline)) void NAME(kind##s)(                                                            \
        const Chart *chart, Work *work, const V *given, int l, int first, int many, int slopes)                      \
    {                                                                                                               \
        const int K = chart->nodes, H = chart->holes;                                                               \
        double *value = work->hole + (size_t)(l * H + first) * HOLE_PARTS * K;                                      \
        double *slope = work->hole_slope + (size_t)(l * H + first) * 13 * HOLE_PARTS * K;                           \
        if (slopes) ELEMENT_AT_NODES(kind##_slopes, given, many, value, slope);                                     \
        else ELEMENT_AT_NODES(kind##_values, given, many, value, slope);                                            \
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
    const double *bell = vector + 2 + 5 * M + 11 * H, *reed = bell + 3 + 5 * (H + 1);
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
