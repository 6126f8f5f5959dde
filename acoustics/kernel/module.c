/* Which variants this processor runs: 1 plain, 2 AVX2, 4 AVX-512, added up. */
#include "kernel.h"
#include "origin.h"

/* Marks of the sources that this library was built from; see origin.py. */
const char *kernel_built_from(void)
{
    return BUILT_FROM;
}

int kernel_variants(void)
{
    int found = 1;
#if defined(__x86_64__)
    __builtin_cpu_init();
    const int avx2 = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
    if (avx2) found |= 2;
#if defined(WITH_AVX512)
    if (avx2 && __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512vl"))
        found |= 4;
#endif
#endif
    return found;
}
