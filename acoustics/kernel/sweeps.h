/* The sweeps of one column, and what stands at the lips; see acoustics/sweeps.py. */

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
