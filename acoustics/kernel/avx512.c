/* The kernel for processors with AVX-512: eight lanes. */
#if defined(__x86_64__)
#if defined(__clang__)
#pragma clang attribute push(__attribute__((target("avx512f,avx512dq,avx512vl,avx2,fma"))), apply_to = function)
#else
#pragma GCC target("avx512f,avx512dq,avx512vl,avx2,fma")
#endif
#define W 8
#define VARIANT _avx512
#include "chart.h"
#if defined(__clang__)
#pragma clang attribute pop
#endif
#endif
