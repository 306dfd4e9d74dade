/* The coupled step of network/reference.py, compiled.

   It knows nodes, routes, devices and schedules, and no houses. Walls and slabs are eliminated once, outside, as
   L D L^T of the constant part of the thermal network; each step solves the rooms' small system with the air flow.
   The step itself is in _step.h, for one house and for four of one topology side by side, eight where the machine has the
   registers for it. Nothing is allocated while stepping. Every array is checked for its length, and every
   index that is followed for its range, before the first step. */

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030B0000
#include <Python.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#ifdef __x86_64__
#include <immintrin.h>
#endif

#define GRAVITY 9.80665
#define CP 1006.0
#define GAS_DRY 287.055
#define MOLAR 0.621945
#define CP_VAPOUR 1860.0
#define EVAPORATION 2501000.0
#define COIL_STEPS 6
#define WET_S 1000.0 /* a wet coil that stands while its fan blows: coil.py */
#define DRIES 1.5
#define CYCLES_MOST_H 3.0
#define FOLLOWS_S 1200.0
#define FARTHEST_K 10.0
#define LINEAR_BELOW 1e-3
#define LEAST_DIFFERENCE 1e-5
#define TOLERANCE 1e-10
#define NOTHING_KG_S 1e-14
#define ROUNDING 1e-15 /* of a pressure, what a difference of two cannot resolve */
#define MOST_ITERATIONS 200
#define MOST_ROUNDS 60
#define PATIENT_ROUNDS 30
#define LATE_ROUNDS 50
#define LOOSER 4.0 /* than settled, after those rounds */
#define LOOSEST 20.0
#define SMALL_WEIGHT 0.1
#define LEAST_WEIGHT 0.02 /* of a change of the rooms' middle temperatures that did not settle */
#define MOST_CUTS 40
#define REACH_PA 1000.0 /* a step goes no further, or twice as far as the deepest pressure */
#define KEEPS_KG_S_PA 1e-18 /* added to every slope, so that a room without any can be solved */
#define TOGETHER 4 /* powers taken at once */
#define LEAST_PASSING_KG_S 1e-6 /* of vapour or carbon dioxide, that a balance is a share of: air closes to 1e-14 */
#define LINE 64 /* bytes that travel together: a value of eight houses must not straddle two */

enum { CRACK, DOOR, FAN };
enum { NOTHING, AIR_C, HUMIDITY, CARBON_DIOXIDE_PPM, OUTDOOR_C, NODE_C };
enum { ROUTE_SHARE, NODE_W, VAPOUR_KG_S, TUBE_SHARE };
enum { OK, AIR_STUCK, ROUNDS_STUCK };

/* sizes, in the order of compiled.py */
enum { ROOMS, NODES, BOUNDARIES, LINKS, POINTS, FILL, EDGES, EXCHANGES, RECOVERIES, CONTROLS, FILMS, COILS, TUBES, FREE, ORIFICES, POWERS,
       PAIRS, PAIR_FILL, FREE_PAIRS, FREE_FILL, TOUCHED, WAYS, HOURS, STEPS, PER_SLOT, SHARED, ONE_WALL, ONE_POWER,
       KEPT, NODES_TOLD, LINKS_TOLD, SIZES };

/* link, node: where each stood before routes were numbered by their kind and nodes by elimination. */
#define INTEGERS(X) \
    X(kind, LINKS) X(link, LINKS) X(curve_start, LINKS_1) X(above, EXCHANGES) X(below, EXCHANGES) \
    X(recovery_link, RECOVERIES) X(sensor, CONTROLS) X(sensor_room, CONTROLS) X(when_above, CONTROLS) X(target, CONTROLS) \
    X(target_index, CONTROLS) X(has_off, CONTROLS) X(pair_start, ROOMS_1) X(free_start, FREE_1) \
    X(film_node, FILMS) X(film_room, FILMS) X(film_node_more, FILMS) X(film_room_more, FILMS) \
    X(film_sense, FILMS) X(coil_room, COILS) X(coil_always, COILS) X(senses, ROOMS) X(tube_node, TUBES) \
    X(tube_more, TUBES) X(ways, WAYS)

/* Followed in every step, and made offsets in bytes for it. into_child, child and their parents: entries of the factor, from
   walls to rooms and back. into_a to into_below: the place of a flow, by elimination.py; room_order: rooms as they are
   eliminated, free_order: those whose pressure is looked for. */
#define OFFSETS(X) \
    X(a, LINKS) X(b, LINKS) X(into_a, LINKS) X(into_b, LINKS) X(into_above, EXCHANGES) X(into_below, EXCHANGES) \
    X(recovery_at, RECOVERIES) X(node, NODES) X(into_parent, FILL) X(into_child, FILL) X(parent, FILL) X(child, FILL) \
    X(edge_node, EDGES) X(edge_boundary, EDGES) X(room_order, ROOMS) X(pair_early, PAIRS) X(pair_late, PAIRS) \
    X(pair_fill, PAIR_FILL) X(free_room, FREE) X(free_order, FREE) X(free_late, FREE_PAIRS) X(free_fill, FREE_FILL) \
    X(joint_at, LINKS) X(touched, TOUCHED)

#define REALS(X) \
    X(scalars, SCALARS) X(low, LINKS) X(height, LINKS) X(strength, LINKS) X(curve_pa, POINTS) X(curve_m3_s, POINTS) X(curve_falls, POINTS) X(reduced, PLACES) \
    X(diameter, EXCHANGES) X(recovery_share, RECOVERIES) X(mass, ROOMS) \
    X(buffer_kg, ROOMS) X(buffer_take, ROOMS) X(on_at, CONTROLS) X(off_at, CONTROLS) X(level_on, CONTROLS) \
    X(level_off, CONTROLS) X(min_on, CONTROLS) X(min_off, CONTROLS) X(hold_for, CONTROLS) X(film_area, FILMS) \
    X(film_constant, FILMS) X(film_cosine, FILMS) X(coil_low, COILS) X(coil_high, COILS) X(tube_w_k, TUBES) \
    X(tube_store, TUBES)

/* of walls and slabs: heat stored in half a step [W/K], the same over the pivot, the factor from walls to rooms and back,
   inverse pivots, ways to boundaries [W/K] */
#define WALLS(X) \
    X(store, NODES) X(keeps, NODES) X(into, FILL) X(lower, FILL) X(pivot, NODES) X(touched_pivot, TOUCHED) X(edge_w_k, EDGES)

/* of cracks: the exponent of the pressure */
#define EXPONENTS(X) X(exponent, LINKS)

/* what acts: one row an hour, the same for all lanes or one value a lane */
#define FORCINGS(X) \
    X(outdoor_c, HOURS, 1) X(outdoor_vapour, HOURS, 1) X(boundary_c, HOURS_B, size[BOUNDARIES]) \
    X(source_w, HOURS_N, size[NODES]) X(vapour_in, HOURS_R, size[ROOMS]) X(gas_in, HOURS_R, size[ROOMS]) \
    X(wind, HOURS_L, size[LINKS]) X(route_share, HOURS_L, size[LINKS]) X(heat_at, HOURS_R, size[ROOMS]) \
    X(cool_at, HOURS_R, size[ROOMS]) X(most, HOURS_R, size[ROOMS]) X(least, HOURS_R, size[ROOMS]) \
    X(permit, HOURS_C, size[CONTROLS]) X(coil_most, HOURS_K, size[COILS]) X(coil_least, HOURS_K, size[COILS]) \
    X(gains, HOURS_R, size[ROOMS]) X(supply, HOURS_T, size[TUBES])

#define CHANGED(X) \
    X(nodes, NODES) X(vapour, ROOMS) X(buffer_rh, ROOMS) X(gas, ROOMS) X(age, ROOMS) X(pressure, ROOMS) \
    X(on_s, CONTROLS) X(hold_s, CONTROLS) X(forward, LINKS) X(back, LINKS)

/* means over slots; of each a bit tells whether it is kept */
#define TOLD(X) \
    X(nodes, SLOTS_N, NODES_TOLD) X(holder, SLOTS_R, ROOMS) X(humidity, SLOTS_R, ROOMS) X(gas, SLOTS_R, ROOMS) X(age, SLOTS_R, ROOMS) \
    X(pressure, SLOTS_R, ROOMS) X(forward, SLOTS_L, LINKS_TOLD) X(back, SLOTS_L, LINKS_TOLD) X(on, SLOTS_C, CONTROLS) \
    X(condensed, SLOTS_R, ROOMS) X(removed, SLOTS_R, ROOMS) X(tube, SLOTS_T, TUBES)

enum { S_STEP, S_PRESSURE, S_OUTDOOR_GAS, S_SETTLED, SCALARS_COUNT };

static int64_t length_of(const int64_t *z, const char *what) {
    int64_t slots = z[HOURS] * z[STEPS] / z[PER_SLOT];
    struct { const char *name; int64_t length; } table[] = {
        {"ROOMS", z[ROOMS]}, {"NODES", z[NODES]}, {"LINKS", z[LINKS]}, {"POINTS", z[POINTS]}, {"FILL", z[FILL]},
        {"EDGES", z[EDGES]}, {"EXCHANGES", z[EXCHANGES]}, {"RECOVERIES", z[RECOVERIES]}, {"CONTROLS", z[CONTROLS]},
        {"PAIRS", z[PAIRS]}, {"PAIR_FILL", z[PAIR_FILL]}, {"FREE_PAIRS", z[FREE_PAIRS]}, {"FREE_FILL", z[FREE_FILL]},
        {"PLACES", z[ROOMS] + 2 * z[PAIRS]}, {"ROOMS_1", z[ROOMS] + 1}, {"TOUCHED", z[TOUCHED]}, {"WAYS", z[WAYS]},
        {"FREE", z[FREE]}, {"FREE_1", z[FREE] + 1}, {"FILMS", z[FILMS]}, {"COILS", z[COILS]}, {"HOURS_K", z[HOURS] * z[COILS]}, {"TUBES", z[TUBES]}, {"HOURS_T", z[HOURS] * z[TUBES]}, {"SLOTS_T", slots * z[TUBES]}, {"HOURS", z[HOURS]}, {"LINKS_1", z[LINKS] + 1}, 
        {"SCALARS", SCALARS_COUNT}, {"SIX", 6}, {"HOURS_B", z[HOURS] * z[BOUNDARIES]},
        {"HOURS_N", z[HOURS] * z[NODES]}, {"HOURS_R", z[HOURS] * z[ROOMS]}, {"HOURS_L", z[HOURS] * z[LINKS]},
        {"HOURS_C", z[HOURS] * z[CONTROLS]}, {"SLOTS_N", slots * z[NODES_TOLD]}, {"SLOTS_R", slots * z[ROOMS]},
        {"SLOTS_L", slots * z[LINKS_TOLD]}, {"SLOTS_C", slots * z[CONTROLS]},
    };
    for (size_t k = 0; k < sizeof table / sizeof table[0]; k++)
        if (!strcmp(table[k].name, what)) return table[k].length;
    return -1;
}

#define LANES 1
#define NAME(x) x##_one
#include "_step.h"

#define LANES 4
#define NAME(x) x##_four
#include "_step.h"

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define BY_MACHINE 1
#pragma GCC push_options
#pragma GCC target("avx2,fma")
#define LANES 4
#define NAME(x) x##_four_avx2
#include "_step.h"
#pragma GCC pop_options
#pragma GCC push_options
#pragma GCC target("avx512f,avx512dq,avx512vl,fma,prefer-vector-width=512")
#define LANES 8
#define NAME(x) x##_eight_avx512
#include "_step.h"
#pragma GCC pop_options
#endif

typedef int (*Runner)(const int64_t *, void **, void *, int64_t *, double *);

/* What this machine steps side by side with, and how many houses. INSHELL_LANES=4 asks for the narrower one. */
static Runner wide(const char **what, int *lanes) {
    *lanes = 4;
#ifdef BY_MACHINE
    const char *asked = getenv("INSHELL_LANES");
    int narrow = asked && !strcmp(asked, "4");
    __builtin_cpu_init();
    int wider = __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512vl");
    if (wider && !narrow) {
        *what = "avx512";
        *lanes = 8;
        return run_hours_eight_avx512;
    }
    if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma")) {
        *what = "avx2";
        return run_hours_four_avx2;
    }
#endif
    *what = "plain";
    return run_hours_four;
}

static int within(const int64_t *values, int64_t count, int64_t most) {
    for (int64_t k = 0; k < count; k++)
        if (values[k] < 0 || values[k] >= most) return 0;
    return 1;
}

/* Whether `count` runs of places start at 0, follow one another and end at `most`. */
static int runs(const int64_t *start, int64_t count, int64_t most) {
    for (int64_t k = 0; k < count; k++)
        if (start[k + 1] < start[k]) return 0;
    return start[0] == 0 && start[count] == most;
}

/* Whether an elimination of `count` rooms with these pairs takes just as many products as there are places for. */
static int fills(const int64_t *start, int64_t count, int64_t fill, int half) {
    for (int64_t t = 0; t < count; t++) {
        int64_t pairs = start[t + 1] - start[t];
        fill -= half ? pairs * (pairs + 1) / 2 : pairs * pairs;
    }
    return fill == 0;
}

/* Every index that is followed without a look must lie in its array; the name of the first that does not. */
static const char *wrong_index(const int64_t *z, void **arrays) {
    int at = 0;
#define X(name, length) const int64_t *name = arrays[at++];
    INTEGERS(X) OFFSETS(X)
#undef X
    int64_t places = z[ROOMS] + 2 * z[PAIRS], free_places = z[FREE] + z[FREE_PAIRS] + 1;
    if (!within(a, z[LINKS], z[ROOMS] + 1) || !within(b, z[LINKS], z[ROOMS] + 1)) return "ends of routes";
    if (!within(kind, z[LINKS], 3) || !within(link, z[LINKS], z[LINKS])) return "kinds of routes";
    if (z[ORIFICES] + z[POWERS] > z[LINKS]) return "cracks";
    for (int64_t q = 0; q < z[LINKS]; q++)
        if ((kind[q] == CRACK) != (q < z[ORIFICES] + z[POWERS])) return "order of routes";
    if (!within(into_a, z[LINKS], places + 2 * z[ROOMS] + 1) || !within(into_b, z[LINKS], places + 2 * z[ROOMS] + 1)) return "places of routes";
    if (!within(into_above, z[EXCHANGES], places) || !within(into_below, z[EXCHANGES], places)) return "places of stairs";
    if (!within(recovery_at, z[RECOVERIES], places)) return "places of recovery";
    if (!within(node, z[NODES], z[NODES]) || !within(node, z[NODES_TOLD], z[NODES_TOLD])) return "numbers of nodes";
    if (!within(into_child, z[FILL], z[NODES]) || !within(into_parent, z[FILL], z[NODES])) return "rows of the factor";
    if (!within(child, z[FILL], z[NODES]) || !within(parent, z[FILL], z[NODES])) return "columns of the factor";
    if (!within(room_order, z[ROOMS], z[ROOMS]) || !runs(pair_start, z[ROOMS], z[PAIRS])) return "order of rooms";
    if (!within(pair_early, z[PAIRS], z[ROOMS]) || !within(pair_late, z[PAIRS], z[ROOMS])) return "pairs of rooms";
    if (!within(pair_fill, z[PAIR_FILL], places) || !fills(pair_start, z[ROOMS], z[PAIR_FILL], 0)) return "fill of rooms";
    if (!within(curve_start, z[LINKS] + 1, z[POINTS] + 1)) return "curves";
    for (int64_t k = 0; k < z[LINKS]; k++)
        if (curve_start[k + 1] - curve_start[k] < (kind[k] == FAN ? 2 : 0)) return "curves of fans";
    if (!within(edge_node, z[EDGES], z[NODES]) || !within(edge_boundary, z[EDGES], z[BOUNDARIES])) return "edges";
    if (!within(above, z[EXCHANGES], z[ROOMS]) || !within(below, z[EXCHANGES], z[ROOMS])) return "stairs";
    if (!within(recovery_link, z[RECOVERIES], z[LINKS])) return "recovery";
    for (int64_t v = 0; v < z[RECOVERIES]; v++)
        if (b[recovery_link[v]] >= z[ROOMS]) return "recovery's rooms";
    for (int64_t c = 0; c < z[CONTROLS]; c++)
        if (sensor_room[c] < 0 || sensor_room[c] >= (sensor[c] == NODE_C ? z[NODES] : z[ROOMS])) return "sensors";
    for (int64_t c = 0; c < z[CONTROLS]; c++) {
        int64_t most = target[c] == ROUTE_SHARE ? z[LINKS] : target[c] == NODE_W ? z[TOUCHED] : target[c] == TUBE_SHARE ? z[TUBES] : z[ROOMS];
        if (target_index[c] < 0 || target_index[c] >= most) return "targets";
    }
    if (!within(tube_node, z[TUBES], z[NODES])) return "tubes";
    if (!within(free_room, z[FREE], z[ROOMS])) return "free rooms";
    if (!within(free_order, z[FREE], z[FREE]) || !runs(free_start, z[FREE], z[FREE_PAIRS])) return "order of free rooms";
    if (!within(free_late, z[FREE_PAIRS], z[FREE])) return "pairs of free rooms";
    if (!within(free_fill, z[FREE_FILL], free_places) || !fills(free_start, z[FREE], z[FREE_FILL], 1)) return "fill of free rooms";
    if (!within(joint_at, z[LINKS], z[FREE_PAIRS] + 1)) return "joints";
    if (!within(touched, z[TOUCHED], z[NODES]) || !within(ways, z[WAYS], z[LINKS])) return "nodes and routes that controls touch";
    if (!within(tube_more, z[TUBES], z[TOUCHED])) return "tubes' sources";
    if (!within(film_node_more, z[FILMS], z[TOUCHED]) || !within(film_room_more, z[FILMS], z[TOUCHED])) return "films' sources";
    if (!within(film_node, z[FILMS], z[NODES]) || !within(film_room, z[FILMS], z[ROOMS])) return "films";
    if (!within(coil_room, z[COILS], z[ROOMS]) || !within(senses, z[ROOMS], z[ROOMS])) return "coils and thermostats";
    (void)coil_always, (void)when_above, (void)has_off, (void)film_sense;
    return NULL;
}

static PyObject *instructions(PyObject *self, PyObject *nothing) {
    (void)self, (void)nothing;
    const char *what;
    int lanes;
    wide(&what, &lanes);
    return Py_BuildValue("si", what, lanes);
}

static int read_sizes(PyObject *sizes, int64_t *size) {
    if (PySequence_Size(sizes) != SIZES) {
        PyErr_Format(PyExc_ValueError, "%d sizes are asked", SIZES);
        return 0;
    }
    for (int k = 0; k < SIZES; k++) {
        PyObject *item = PySequence_GetItem(sizes, k);
        if (!item) return 0;
        size[k] = PyLong_AsLongLong(item);
        Py_DECREF(item);
        if (PyErr_Occurred()) return 0;
        if (size[k] < (k == ROOMS || k == STEPS || k == PER_SLOT) || size[k] > 10000000) {
            PyErr_Format(PyExc_ValueError, "size %d is %lld", k, (long long)size[k]);
            return 0;
        }
    }
    int fits = size[NODES] >= size[ROOMS] && size[NODES] >= size[NODES_TOLD];
    fits &= size[LINKS_TOLD] == 0 || size[LINKS_TOLD] == size[LINKS];
    if (!fits) PyErr_Format(PyExc_ValueError, "fewer nodes than rooms, or other nodes and routes than are told");
    return fits;
}

/* Take hold of one array; 0 with an error set if it is not what is asked. */
static int hold(PyObject *arrays, int k, Py_buffer *view, const char *name, int64_t length, int integer, int writable) {
    PyObject *item = PySequence_GetItem(arrays, k);
    if (!item) return 0;
    int failed = PyObject_GetBuffer(item, view, PyBUF_C_CONTIGUOUS | PyBUF_FORMAT | (writable ? PyBUF_WRITABLE : 0));
    Py_DECREF(item);
    if (failed) return 0;
    const char *format = view->format ? view->format : "B";
    int fits = view->itemsize == 8 && (integer ? strchr("lq", format[0]) : strchr("d", format[0])) != NULL;
    if (fits && view->len == 8 * length) return 1;
    PyErr_Format(PyExc_ValueError, "%s must hold %lld 8-byte %s", name, (long long)length, integer ? "integers" : "reals");
    PyBuffer_Release(view);
    return 0;
}

static PyObject *run(PyObject *self, PyObject *arguments) {
    (void)self;
    PyObject *sizes, *arrays;
    int lanes;
    if (!PyArg_ParseTuple(arguments, "OiO", &sizes, &lanes, &arrays)) return NULL;
    int64_t size[SIZES];
    if (!read_sizes(sizes, size)) return NULL;
    const char *what;
    int most;
    Runner runner = wide(&what, &most);
    if (lanes != 1 && lanes != most) return PyErr_Format(PyExc_ValueError, "1 or %d lanes are asked", most);
    if (lanes == 1) runner = run_hours_one;
    enum { REAL, WHOLE, WALL, EXPONENT, ACTING, MEANS };
    static const struct { const char *name, *length; int sort, writable; } wanted[] = {
#define X(name, length) {#name, #length, WHOLE, 0},
        INTEGERS(X) OFFSETS(X)
#undef X
#define X(name, length) {#name, #length, REAL, 0},
        REALS(X)
#undef X
#define X(name, length) {#name, #length, WALL, 0},
        WALLS(X)
#undef X
#define X(name, length) {#name, #length, EXPONENT, 0},
        EXPONENTS(X)
#undef X
#define X(name, length, row) {#name, #length, ACTING, 0},
        FORCINGS(X)
#undef X
#define X(name, length) {#name, #length, REAL, 1},
        CHANGED(X)
#undef X
#define X(name, length, row) {"out_" #name, #length, MEANS, 1},
        TOLD(X)
#undef X
        {"balance", "SIX", REAL, 1},
    };
    enum { COUNT = sizeof wanted / sizeof wanted[0] };
    if (PySequence_Size(arrays) != COUNT) return PyErr_Format(PyExc_ValueError, "%d arrays are asked", (int)COUNT);
    Py_buffer views[COUNT];
    void *places[COUNT], *memory = NULL;
    PyObject *answer = NULL;
    int got = 0, shared = 0, means = 0;
    for (; got < COUNT; got++) {
        int sort = wanted[got].sort, acting = sort == ACTING, once = sort == WHOLE;
        once |= (sort == WALL && size[ONE_WALL]) || (sort == EXPONENT && size[ONE_POWER]);
        if (acting) once = (int)(size[SHARED] >> shared++) & 1; /* a bit for each of what acts, in their order */
        int64_t length = length_of(size, wanted[got].length) * (once ? 1 : lanes);
        if (sort == MEANS && !(size[KEPT] >> means++ & 1)) length = 0;
        int whole = wanted[got].sort == WHOLE;
        if (!hold(arrays, got, &views[got], wanted[got].name, length, whole, wanted[got].writable)) goto done;
        places[got] = views[got].buf;
    }
    const char *wrong = wrong_index(size, places);
    if (wrong) {
        PyErr_Format(PyExc_ValueError, "an index out of range among the %s", wrong);
        goto done;
    }
    size_t m = (size_t)size[ROOMS] + 1;
    size_t spaces = m + 2 * (size_t)size[PAIRS], links = (size_t)size[LINKS];
    size_t words = 4 * (size_t)size[NODES] + 16 * links + 5 * spaces + 2 * (size_t)size[FREE_PAIRS] + 60 * m + (size_t)size[TOUCHED];
    words += (size_t)size[BOUNDARIES] + 2 * (size_t)size[CONTROLS] + 2 * (size_t)size[COILS] + 3 * (size_t)size[TUBES] + 2;
#define X(name, length) words += (size_t)length_of(size, #length);
    OFFSETS(X)
#undef X
    memory = calloc(words * (size_t)lanes + LINE / 8, 8);
    if (!memory) {
        PyErr_NoMemory();
        goto done;
    }
    int status;
    int64_t where[3] = {0, 0, 0}; /* hour, room, lane */
    double left = 0.0;
    Py_BEGIN_ALLOW_THREADS
    status = runner(size, places, (void *)(((uintptr_t)memory + LINE - 1) / LINE * LINE), where, &left);
    Py_END_ALLOW_THREADS
    answer = Py_BuildValue("iLLLd", status, (long long)where[0], (long long)where[1], (long long)where[2], left);
done:
    while (got-- > 0) PyBuffer_Release(&views[got]);
    free(memory);
    return answer;
}

static PyMethodDef methods[] = {
    {"run", run, METH_VARARGS, "run(sizes, lanes, arrays): step houses; returns (status, hour, room, lane, residual)."},
    {"instructions", instructions, METH_NOARGS, "(what, how many): what this machine steps houses side by side with."},
    {NULL, NULL, 0, NULL},
};

static struct PyModuleDef module = {PyModuleDef_HEAD_INIT, "_kernel", "The coupled step, compiled.", -1, methods,
                                    NULL, NULL, NULL, NULL};

PyMODINIT_FUNC PyInit__kernel(void) { return PyModule_Create(&module); }
