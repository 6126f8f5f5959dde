/* The extension module: which variants this processor can run, best last. The functions are called through ctypes. */
#define PY_SSIZE_T_CLEAN
#include <Python.h>
#include "kernel.h"

static PyObject *variants(PyObject *self, PyObject *none)
{
    (void)self, (void)none;
#if defined(__x86_64__)
    __builtin_cpu_init();
    const int avx2 = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
    const int avx512 = avx2 && __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512vl");
    return Py_BuildValue(avx512 ? "(sss)" : avx2 ? "(ss)" : "(s)", "plain", "avx2", "avx512");
#else
    return Py_BuildValue("(s)", "plain");
#endif
}

static PyMethodDef methods[] = {{"variants", variants, METH_NOARGS, "Variants this processor runs, best last."}, {0, 0, 0, 0}};
static struct PyModuleDef definition = {PyModuleDef_HEAD_INIT, "_kernel", 0, -1, methods, 0, 0, 0, 0};

PyMODINIT_FUNC PyInit__kernel(void) { return PyModule_Create(&definition); }
