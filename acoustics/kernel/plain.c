/* The kernel for every processor: two lanes. */
#define W 2
#define VARIANT _plain
#include "chart.h"
