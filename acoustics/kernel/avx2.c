/* The kernel for processors with AVX2 and FMA: four lanes. */
#if defined(__x86_64__)
#if defined(__clang__)
#pragma clang attribute push(__attribute__((target("avx2,fma"))), apply_to = function)
#else
#pragma GCC target("avx2,fma")
#endif
#define W 4
#define VARIANT _avx2
#include "chart.h"
#if defined(__clang__)
#pragma clang attribute pop
#endif
#endif
