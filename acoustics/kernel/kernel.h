/* What the kernel is given and gives; see charts.Notes. */

#ifndef HOLEWRIGHT_KERNEL_H
#define HOLEWRIGHT_KERNEL_H

#include <stddef.h>
#include <stdint.h>

/* A chart: N notes, padded to whole vectors by repeating the last; `which` is a level's number as a double. */
typedef struct {
    int32_t notes, padded, holes, levels, nodes;
    const double *level;   /* [L] ascending */
    const double *which;   /* [H][padded] */
    const int32_t *used;   /* [H][L] */
    const double *node;    /* [K], Hz */
    const double *f;       /* [2][padded], Hz */
    const double *weight;  /* [K][2][padded] */
    int32_t *station;      /* [H], room for the kernel's own use */
} Chart;

/* admittances: at the lips, complex [N], of one duct; chart->f [padded] and which [H][padded] give each column its own
 * frequency and fingering, elements are worked out at that very frequency; nodes is 1, weight is not read.
 *
 * chart_errors: errors and those without interaction [ducts][N] in cents, slopes [ducts][N][count] by the chain's vector, and for each
 * note the least pivot of its elimination (squared, over the largest entry below it): near 0, the caller must not trust
 * it. vector [ducts][count], hole [ducts][M]; memory: as many bytes as chart_memory says, 64-aligned. */
#define DECLARE(variant)                                                                                            \
    int chart_width##variant(void);                                                                                 \
    size_t chart_memory##variant(const Chart *, int, int);                                                          \
    void admittances##variant(const Chart *, const double *, const int32_t *, int, int, char *, double *, double *);     \
    void chart_errors##variant(const Chart *, int, const double *, const int32_t *, int, int, int, char *, double *, \
                               double *, double *, double *);

DECLARE(_plain)
DECLARE(_avx2)
DECLARE(_avx512)

#endif
