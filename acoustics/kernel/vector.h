/* Vectors of W doubles and their functions, by the compiler's own vector extension; W is set by who includes this.
 *
 * Arguments are those of acoustics: finite, far from the ends of the range. Errors of a few units in the last place.
 * Reductions and polynomials: Cody & Waite, Software Manual for the Elementary Functions (1980); Taylor coefficients. */

#include <math.h>
#include <stdint.h>
#if defined(__x86_64__) || defined(_M_X64)
#include <immintrin.h>
#endif

#define INLINE inline __attribute__((always_inline))

typedef double V __attribute__((vector_size(8 * W), aligned(8 * W), may_alias));
typedef double U __attribute__((vector_size(8 * W), aligned(8), may_alias));
typedef int64_t VI __attribute__((vector_size(8 * W)));
typedef uint64_t VU __attribute__((vector_size(8 * W)));

static INLINE V v_all(double x)
{
#if W == 8
    return (V){x, x, x, x, x, x, x, x};
#elif W == 4
    return (V){x, x, x, x};
#else
    return (V){x, x};
#endif
}

static INLINE V v_load(const double *from) { return *(const U *)from; }
static INLINE void v_store(double *to, V x) { *(U *)to = x; }
static INLINE VI v_less(V a, V b) { return (VI)(a < b); }
static INLINE V v_pick(VI c, V a, V b) { return (V)((c & (VI)a) | (~c & (VI)b)); }
static INLINE V v_max(V a, V b) { return v_pick(a < b, b, a); }
static INLINE V v_min(V a, V b) { return v_pick(a < b, a, b); }

static INLINE V v_sqrt(V x)
{
#if W == 8 && defined(__AVX512F__)
    return (V)_mm512_sqrt_pd((__m512d)x);
#elif W == 4 && defined(__AVX__)
    return (V)_mm256_sqrt_pd((__m256d)x);
#elif W == 2 && defined(__SSE2__)
    return (V)_mm_sqrt_pd((__m128d)x);
#else
    V y;
    for (int i = 0; i < W; i++) y[i] = sqrt(x[i]);
    return y;
#endif
}

#define ROUNDING 6755399441055744.0 /* 1.5 x 2^52: adding it leaves the nearest whole number in the low bits */

static INLINE V v_floor(V x)
{
    V whole = (x + v_all(ROUNDING)) - v_all(ROUNDING);
    return whole - v_pick(x < whole, v_all(1.0), v_all(0.0));
}

static INLINE V v_exp(V x)
{
    x = v_pick(x > v_all(708.0), v_all(708.0), v_pick(x < v_all(-708.0), v_all(-708.0), x));
    V turned = x * v_all(1.4426950408889634) + v_all(ROUNDING);
    V n = turned - v_all(ROUNDING);
    V r = x - n * v_all(0.6931471803691238) - n * v_all(1.9082149292705877e-10);
    V y = v_all(1.0 / 479001600.0);
    y = y * r + v_all(1.0 / 39916800.0);
    y = y * r + v_all(1.0 / 3628800.0);
    y = y * r + v_all(1.0 / 362880.0);
    y = y * r + v_all(1.0 / 40320.0);
    y = y * r + v_all(1.0 / 5040.0);
    y = y * r + v_all(1.0 / 720.0);
    y = y * r + v_all(1.0 / 120.0);
    y = y * r + v_all(1.0 / 24.0);
    y = y * r + v_all(1.0 / 6.0);
    y = y * r + v_all(0.5);
    y = y * r + v_all(1.0);
    y = y * r + v_all(1.0);
    VI whole = (VI)turned;
    return y * (V)((whole + 1023) << 52);
}

static INLINE V v_log(V x)
{
    VU bits = (VU)x;
    VI power = (VI)(bits >> 52) - 1023;
    V m = (V)((bits & 0x000fffffffffffffULL) | 0x3ff0000000000000ULL);
    VI wide = m > v_all(1.4142135623730951);
    m = v_pick(wide, m * v_all(0.5), m);
    power = power - wide;
    V n = (V)(power + 0x4338000000000000LL) - v_all(ROUNDING);
    V s = (m - v_all(1.0)) / (m + v_all(1.0)), z = s * s;
    V y = v_all(1.0 / 19.0);
    y = y * z + v_all(1.0 / 17.0);
    y = y * z + v_all(1.0 / 15.0);
    y = y * z + v_all(1.0 / 13.0);
    y = y * z + v_all(1.0 / 11.0);
    y = y * z + v_all(1.0 / 9.0);
    y = y * z + v_all(1.0 / 7.0);
    y = y * z + v_all(1.0 / 5.0);
    y = y * z + v_all(1.0 / 3.0);
    y = y * z + v_all(1.0);
    y = n * v_all(0.6931471803691238) + (v_all(2.0) * s * y + n * v_all(1.9082149292705877e-10));
    return v_pick(x > v_all(0.0), y, v_all(NAN));
}

/* Sine and cosine of the rest after whole quarter turns, and how many those were. */
static INLINE VI v_quarters(V x, V *sine, V *cosine)
{
    V turned = x * v_all(0.6366197723675814) + v_all(ROUNDING);
    V n = turned - v_all(ROUNDING);
    V r = x - n * v_all(1.5707963109016418) - n * v_all(1.5893254712295857e-08) - n * v_all(6.123233995736766e-17);
    V z = r * r;
    V s = v_all(-1.0 / 1307674368000.0);
    s = s * z + v_all(1.0 / 6227020800.0);
    s = s * z + v_all(-1.0 / 39916800.0);
    s = s * z + v_all(1.0 / 362880.0);
    s = s * z + v_all(-1.0 / 5040.0);
    s = s * z + v_all(1.0 / 120.0);
    s = s * z + v_all(-1.0 / 6.0);
    *sine = r + r * z * s;
    V c = v_all(1.0 / 20922789888000.0);
    c = c * z + v_all(-1.0 / 87178291200.0);
    c = c * z + v_all(1.0 / 479001600.0);
    c = c * z + v_all(-1.0 / 3628800.0);
    c = c * z + v_all(1.0 / 40320.0);
    c = c * z + v_all(-1.0 / 720.0);
    c = c * z + v_all(1.0 / 24.0);
    *cosine = v_all(1.0) - v_all(0.5) * z + z * z * c;
    return (VI)turned;
}

static INLINE V v_sin(V x)
{
    V s, c;
    VI n = v_quarters(x, &s, &c);
    V y = v_pick((n & 1) == 0, s, c);
    return v_pick((n & 2) == 0, y, -y);
}

static INLINE V v_cos(V x)
{
    V s, c;
    VI n = v_quarters(x, &s, &c);
    V y = v_pick((n & 1) == 0, c, s);
    return v_pick(((n + 1) & 2) == 0, y, -y);
}

/* Complex vectors. */
typedef struct { V re, im; } C;

static INLINE C c_of(V re, V im) { return (C){re, im}; }
static INLINE C c_add(C a, C b) { return c_of(a.re + b.re, a.im + b.im); }
static INLINE C c_sub(C a, C b) { return c_of(a.re - b.re, a.im - b.im); }
static INLINE C c_neg(C a) { return c_of(-a.re, -a.im); }
static INLINE C c_mul(C a, C b) { return c_of(a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re); }
static INLINE C c_fma(C a, C b, C c) { return c_of(c.re + a.re * b.re - a.im * b.im, c.im + a.re * b.im + a.im * b.re); }
static INLINE C c_fms(C a, C b, C c) { return c_of(c.re - a.re * b.re + a.im * b.im, c.im - a.re * b.im - a.im * b.re); }
static INLINE C c_scale(V s, C a) { return c_of(s * a.re, s * a.im); }
static INLINE C c_times_j(V s, C a) { return c_of(-s * a.im, s * a.re); } /* j s a */
static INLINE V c_square(C a) { return a.re * a.re + a.im * a.im; }
static INLINE C c_inv(C a)
{
    V s = v_all(1.0) / c_square(a);
    return c_of(a.re * s, -a.im * s);
}
static INLINE C c_conj(C a) { return c_of(a.re, -a.im); }
