/* The coupled step of network/reference.py, compiled.

   It knows nodes, routes, devices and schedules, and no houses. Walls and slabs are eliminated once, outside, as
   L D L^T of the constant part of the thermal network; each step solves the rooms' small system with the air flow.
   Nothing is allocated while stepping. Every array is checked for its length before the first step. */

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030B0000
#include <Python.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define GRAVITY 9.80665
#define CP 1006.0
#define GAS_DRY 287.055
#define MOLAR 0.621945
#define LINEAR_BELOW 1e-3
#define STEP_PA 1e-6
#define LEAST_DIFFERENCE 1e-5
#define TOLERANCE 1e-10
#define NOTHING_KG_S 1e-14
#define MOST_ITERATIONS 200
#define MOST_ROUNDS 60
#define MOST_CUTS 40

enum { CRACK, DOOR, FAN };
enum { NOTHING, AIR_C, HUMIDITY, CARBON_DIOXIDE_PPM, OUTDOOR_C };
enum { ROUTE_SHARE, NODE_W };
enum { OK, AIR_STUCK, ROUNDS_STUCK };

/* sizes, in the order of compiled.py */
enum { ROOMS, NODES, BOUNDARIES, LINKS, POINTS, FILL, EDGES, EXCHANGES, RECOVERIES, CONTROLS, FILMS, FREE, HOURS, STEPS,
       PER_SLOT, SIZES };

#define INTEGERS(X) \
    X(kind, LINKS) X(a, LINKS) X(b, LINKS) X(curve_start, LINKS_1) X(column, INNER_1) X(row, FILL) X(edge_node, EDGES) \
    X(edge_boundary, EDGES) X(above, EXCHANGES) X(below, EXCHANGES) X(recovery_link, RECOVERIES) \
    X(recovery_room, RECOVERIES) X(sensor, CONTROLS) X(sensor_room, CONTROLS) X(when_above, CONTROLS) \
    X(target, CONTROLS) X(target_index, CONTROLS) X(has_off, CONTROLS) X(free_room, FREE) X(film_node, FILMS) X(film_room, FILMS) X(film_sense, FILMS)

#define REALS(X) \
    X(scalars, SCALARS) X(low, LINKS) X(height, LINKS) X(coefficient, LINKS) X(exponent, LINKS) X(width, LINKS) \
    X(discharge, LINKS) X(curve_pa, POINTS) X(curve_m3_s, POINTS) X(lower, FILL) X(pivot, INNER) X(reduced, ROOMS2) \
    X(capacity, NODES) X(edge_w_k, EDGES) X(diameter, EXCHANGES) X(recovery_share, RECOVERIES) X(mass, ROOMS) \
    X(buffer_kg, ROOMS) X(buffer_take, ROOMS) X(on_at, CONTROLS) X(off_at, CONTROLS) X(level_on, CONTROLS) \
    X(level_off, CONTROLS) X(min_on, CONTROLS) X(min_off, CONTROLS) X(hold_for, CONTROLS) X(film_area, FILMS) \
    X(film_constant, FILMS) X(film_cosine, FILMS) \
    X(outdoor_c, HOURS) X(outdoor_vapour, HOURS) X(boundary_c, HOURS_B) X(source_w, HOURS_N) X(vapour_in, HOURS_R) \
    X(gas_in, HOURS_R) X(wind, HOURS_L) X(route_share, HOURS_L) X(heat_at, HOURS_R) X(cool_at, HOURS_R) \
    X(most, HOURS_R) X(least, HOURS_R) X(permit, HOURS_C)

#define CHANGED(X) \
    X(nodes, NODES) X(vapour, ROOMS) X(buffer_rh, ROOMS) X(gas, ROOMS) X(age, ROOMS) X(pressure, ROOMS) \
    X(on_s, CONTROLS) X(hold_s, CONTROLS) X(out_nodes, SLOTS_N) X(out_holder, SLOTS_R) X(out_humidity, SLOTS_R) \
    X(out_gas, SLOTS_R) X(out_age, SLOTS_R) X(out_pressure, SLOTS_R) X(out_forward, SLOTS_L) X(out_back, SLOTS_L) \
    X(out_on, SLOTS_C) X(out_condensed, SLOTS_R) X(balance, SIX)

enum { S_STEP, S_PRESSURE, S_OUTDOOR_GAS, S_SETTLED, SCALARS_COUNT };

typedef struct {
    int64_t size[SIZES];
#define X(name, length) const int64_t *name;
    INTEGERS(X)
#undef X
#define X(name, length) const double *name;
    REALS(X)
#undef X
#define X(name, length) double *name;
    CHANGED(X)
#undef X
    /* workspace */
    double *share, *source, *start, *load, *middle, *rho, *p, *trial, *residual, *forward, *back, *slope, *newton, *flow,
        *exchange, *carried, *right, *room_right, *system, *guess, *air, *free_air, *given, *aim, *most_now, *least_now,
        *needed, *tracer, *vector, *saturation, *pair;
    int *held;
} House;

static double saturation_pa(double t) {
    return t >= 0.0 ? 610.5 * exp(17.269 * t / (237.3 + t)) : 610.5 * exp(21.875 * t / (265.5 + t));
}

static double vapour_pa(double share, double pressure) { return share * pressure / (MOLAR + (1.0 - MOLAR) * share); }

/* Solve m x = v for `sides` right sides at once (x in v, rows of `sides`) by Gauss with row pivots. */
static void solve_many(double *m, double *v, int64_t n, int64_t sides) {
    for (int64_t k = 0; k < n; k++) {
        int64_t best = k;
        for (int64_t i = k + 1; i < n; i++)
            if (fabs(m[i * n + k]) > fabs(m[best * n + k])) best = i;
        if (best != k) {
            for (int64_t j = k; j < n; j++) {
                double t = m[k * n + j];
                m[k * n + j] = m[best * n + j];
                m[best * n + j] = t;
            }
            for (int64_t c = 0; c < sides; c++) {
                double t = v[k * sides + c];
                v[k * sides + c] = v[best * sides + c];
                v[best * sides + c] = t;
            }
        }
        double inverse = 1.0 / m[k * n + k];
        for (int64_t i = k + 1; i < n; i++) {
            double f = m[i * n + k] * inverse;
            if (f == 0.0) continue;
            for (int64_t j = k + 1; j < n; j++) m[i * n + j] -= f * m[k * n + j];
            for (int64_t c = 0; c < sides; c++) v[i * sides + c] -= f * v[k * sides + c];
        }
    }
    for (int64_t k = n - 1; k >= 0; k--)
        for (int64_t c = 0; c < sides; c++) {
            double x = v[k * sides + c];
            for (int64_t j = k + 1; j < n; j++) x -= m[k * n + j] * v[j * sides + c];
            v[k * sides + c] = x / m[k * n + k];
        }
}

static void solve(double *m, double *v, int64_t n) { solve_many(m, v, n, 1); }

static double fan_flow(const House *s, int64_t k, double pressure) {
    int64_t first = s->curve_start[k], last = s->curve_start[k + 1] - 1;
    if (pressure <= s->curve_pa[first]) return s->curve_m3_s[first];
    if (pressure > s->curve_pa[last]) return 0.0;
    while (first < last - 1 && s->curve_pa[first + 1] <= pressure) first++;
    double span = s->curve_pa[first + 1] - s->curve_pa[first];
    return s->curve_m3_s[first] + (pressure - s->curve_pa[first]) * (s->curve_m3_s[first + 1] - s->curve_m3_s[first]) / span;
}

static void door(const House *s, int64_t k, double sill, double rho1, double rho2, double *one, double *two,
                 double *slope) {
    if (fabs(rho1 - rho2) < LEAST_DIFFERENCE) rho2 = rho1 + (rho2 >= rho1 ? LEAST_DIFFERENCE : -LEAST_DIFFERENCE);
    double top = sill + (rho2 - rho1) * GRAVITY * s->height[k], scale = s->discharge[k] * s->width[k] * sqrt(2.0);
    double swept = s->height[k] / (top - sill), result[2], steep[2];
    for (int side = 0; side < 2; side++) {
        double sign = side ? -1.0 : 1.0, t = fmax(sign * top, 0.0), b = fmax(sign * sill, 0.0);
        double rt = sqrt(t), rb = sqrt(b), strength = scale * sqrt(side ? rho2 : rho1);
        result[side] = strength * 2.0 / 3.0 * sign * (t * rt - b * rb) * swept;
        steep[side] = strength * (rt - rb) * swept;
    }
    *one = result[0];
    *two = result[1];
    *slope = fmax(1e-9, steep[0] - steep[1]);
}

/* Flow from a to b, back, and the derivative of the net by the pressure difference, on every route. */
static void flows(House *s, const double *p, int64_t hour) {
    int64_t links = s->size[LINKS];
    const double *wind = s->wind + hour * links;
    for (int64_t k = 0; k < links; k++) {
        s->forward[k] = s->back[k] = s->slope[k] = 0.0;
        double share = s->share[k];
        if (share == 0.0) continue;
        double ra = s->rho[s->a[k]], rb = s->rho[s->b[k]];
        double drop = p[s->a[k]] - p[s->b[k]] - (ra - rb) * GRAVITY * s->low[k] - wind[k];
        if (s->kind[k] == CRACK) {
            double size = fabs(drop), n = s->exponent[k], flow, slope;
            double strength = share * s->coefficient[k] * (drop >= 0.0 ? ra : rb);
            if (size < LINEAR_BELOW) {
                slope = strength * pow(LINEAR_BELOW, n) / LINEAR_BELOW;
                flow = slope * size;
            } else {
                flow = strength * (n == 0.5 ? sqrt(size) : exp(n * log(size)));
                slope = n * flow / size;
            }
            if (drop >= 0.0) s->forward[k] = flow;
            else s->back[k] = flow;
            s->slope[k] = slope;
        } else if (s->kind[k] == FAN) {
            double here = fan_flow(s, k, fmax(0.0, -drop)), near = fan_flow(s, k, fmax(0.0, -drop - STEP_PA));
            s->forward[k] = share * ra * here;
            s->slope[k] = share * fmax(0.0, ra * (near - here) / STEP_PA);
        } else {
            double one, two, slope;
            door(s, k, drop, ra, rb, &one, &two, &slope);
            s->forward[k] = share * one;
            s->back[k] = share * two;
            s->slope[k] = share * slope;
        }
    }
}

static double gather(House *s) { /* residual of every node; returns the throughput */
    double through = 0.0;
    memset(s->residual, 0, (size_t)(s->size[ROOMS] + 1) * sizeof(double));
    for (int64_t k = 0; k < s->size[LINKS]; k++) {
        double net = s->forward[k] - s->back[k];
        s->residual[s->a[k]] -= net;
        s->residual[s->b[k]] += net;
        through += s->forward[k] + s->back[k];
    }
    return through > 0.0 ? through : 1.0;
}

static double worst_free(const House *s, int64_t *room) {
    double worst = 0.0;
    for (int64_t k = 0; k < s->size[FREE]; k++)
        if (fabs(s->residual[s->free_room[k]]) >= worst) {
            worst = fabs(s->residual[s->free_room[k]]);
            *room = s->free_room[k];
        }
    return worst;
}

static double along_step(const House *s) { /* residual of the free rooms projected on the step */
    double sum = 0.0;
    for (int64_t k = 0; k < s->size[FREE]; k++) sum += s->vector[k] * s->residual[s->free_room[k]];
    return sum;
}

/* Newton's matrix over the free rooms; rows of held rooms are left out. */
static void newton_step(House *s) {
    int64_t n = s->size[FREE], nodes = s->size[ROOMS] + 1;
    memset(s->exchange, 0, (size_t)(nodes * nodes) * sizeof(double));
    for (int64_t k = 0; k < s->size[LINKS]; k++) {
        int64_t a = s->a[k], b = s->b[k];
        s->exchange[a * nodes + a] -= s->slope[k];
        s->exchange[b * nodes + b] -= s->slope[k];
        s->exchange[a * nodes + b] += s->slope[k];
        s->exchange[b * nodes + a] += s->slope[k];
    }
    for (int64_t i = 0; i < n; i++) {
        for (int64_t j = 0; j < n; j++)
            s->newton[i * n + j] = s->exchange[s->free_room[i] * nodes + s->free_room[j]] - (i == j ? 1e-12 : 0.0);
        s->vector[i] = -s->residual[s->free_room[i]];
    }
    solve(s->newton, s->vector, n);
}

static int solve_air(House *s, int64_t hour, int64_t *room, double *left) {
    int64_t rooms = s->size[ROOMS];
    double through;
    flows(s, s->p, hour);
    through = gather(s);
    for (int iteration = 0; iteration < MOST_ITERATIONS; iteration++) {
        *left = worst_free(s, room);
        if (*left <= fmax(TOLERANCE * through, NOTHING_KG_S)) {
            s->balance[1] = fmax(s->balance[1], *left <= NOTHING_KG_S ? 0.0 : *left / through);
            s->balance[5] += iteration;
            return OK;
        }
        newton_step(s);
        double ahead = along_step(s), part = 1.0;
        for (int cut = 0; cut < MOST_CUTS; cut++) {
            memcpy(s->trial, s->p, (size_t)(rooms + 1) * sizeof(double));
            for (int64_t k = 0; k < s->size[FREE]; k++) s->trial[s->free_room[k]] += part * s->vector[k];
            flows(s, s->trial, hour);
            through = gather(s);
            double here = along_step(s);
            if (here >= -0.5 * ahead) break;
            part *= fmin(fmax(ahead / (ahead - here), 0.1), 0.5);
        }
        memcpy(s->p, s->trial, (size_t)(rooms + 1) * sizeof(double));
    }
    return AIR_STUCK;
}

static void densities(House *s, const double *air, int64_t hour) {
    int64_t rooms = s->size[ROOMS];
    double pressure = s->scalars[S_PRESSURE];
    for (int64_t k = 0; k <= rooms; k++) {
        double t = k < rooms ? air[k] : s->outdoor_c[hour], w = k < rooms ? s->vapour[k] : s->outdoor_vapour[hour];
        s->rho[k] = (pressure - (1.0 - MOLAR) * vapour_pa(w, pressure)) / (GAS_DRY * (t + 273.15));
    }
}

/* Mass flow into b from a as flow[b][a], outdoors last; what moving air adds to the rooms' heat. */
static void carry(House *s, int64_t hour) {
    int64_t rooms = s->size[ROOMS], nodes = rooms + 1;
    double outdoor = s->outdoor_c[hour];
    memset(s->flow, 0, (size_t)(nodes * nodes) * sizeof(double));
    for (int64_t k = 0; k < s->size[LINKS]; k++) {
        s->flow[s->b[k] * nodes + s->a[k]] += s->forward[k];
        s->flow[s->a[k] * nodes + s->b[k]] += s->back[k];
    }
    for (int64_t e = 0; e < s->size[EXCHANGES]; e++) {
        double above = s->rho[s->above[e]], below = s->rho[s->below[e]], d = s->diameter[e];
        double heavier = fmax(above - below, 0.0) / (0.5 * (above + below));
        double mass = 0.055 * sqrt(GRAVITY * d * d * d * d * d * heavier) * above;
        s->flow[s->below[e] * nodes + s->above[e]] += mass;
        s->flow[s->above[e] * nodes + s->below[e]] += mass;
    }
    for (int64_t i = 0; i < rooms; i++) {
        double in = 0.0;
        for (int64_t j = 0; j < nodes; j++) in += s->flow[i * nodes + j];
        for (int64_t j = 0; j < rooms; j++) s->exchange[i * rooms + j] = -s->flow[i * nodes + j] * CP;
        s->exchange[i * rooms + i] += in * CP;
        s->carried[i] = s->flow[i * nodes + rooms] * CP * outdoor;
    }
    for (int64_t v = 0; v < s->size[RECOVERIES]; v++) {
        double back = s->forward[s->recovery_link[v]] * CP * s->recovery_share[v];
        int64_t to = s->b[s->recovery_link[v]];
        s->exchange[to * rooms + s->recovery_room[v]] -= back;
        s->carried[to] -= back * outdoor;
    }
}

/* Loads of all nodes, and the rooms' right side once walls and slabs are eliminated (done once a step). */
static void eliminate(House *s, int64_t hour) {
    int64_t nodes = s->size[NODES], rooms = s->size[ROOMS];
    double per = 1.0 / (0.5 * s->scalars[S_STEP]);
    const double *boundary = s->boundary_c + hour * s->size[BOUNDARIES];
    for (int64_t i = 0; i < nodes; i++) s->load[i] = s->source[i] + s->capacity[i] * per * s->start[i];
    for (int64_t e = 0; e < s->size[EDGES]; e++) s->load[s->edge_node[e]] += s->edge_w_k[e] * boundary[s->edge_boundary[e]];
    for (int64_t j = rooms; j < nodes; j++) {
        double y = s->load[j];
        for (int64_t k = s->column[j - rooms]; k < s->column[j - rooms + 1]; k++) s->load[s->row[k]] -= s->lower[k] * y;
    }
    memcpy(s->room_right, s->load, (size_t)rooms * sizeof(double));
}

static void back_substitute(House *s) {
    int64_t nodes = s->size[NODES], rooms = s->size[ROOMS];
    memcpy(s->middle, s->air, (size_t)rooms * sizeof(double));
    for (int64_t j = nodes - 1; j >= rooms; j--) {
        double x = s->load[j] / s->pivot[j - rooms];
        for (int64_t k = s->column[j - rooms]; k < s->column[j - rooms + 1]; k++) x -= s->lower[k] * s->middle[s->row[k]];
        s->middle[j] = x;
    }
}

static void rooms_matrix(House *s) {
    int64_t n = s->size[ROOMS];
    for (int64_t k = 0; k < n * n; k++) s->system[k] = s->reduced[k] + s->exchange[k];
}

/* Rooms at the middle of the step with holders within their limits, as `_held` of thermal.py. */
static void hold_rooms(House *s) {
    int64_t n = s->size[ROOMS];
    for (int64_t i = 0; i < n; i++) s->given[i] = 0.0;
    for (int64_t round = 0; round < 2 * n + 2; round++) {
        rooms_matrix(s);
        for (int64_t i = 0; i < n; i++) {
            s->air[i] = s->held[i] ? s->aim[i] : s->right[i] + s->given[i];
            if (s->held[i])
                for (int64_t j = 0; j < n; j++) s->system[i * n + j] = i == j ? 1.0 : 0.0;
        }
        solve(s->system, s->air, n);
        int changed = 0;
        for (int64_t i = 0; i < n; i++) {
            if (!s->held[i]) continue;
            double need = -s->right[i];
            for (int64_t j = 0; j < n; j++) need += (s->reduced[i * n + j] + s->exchange[i * n + j]) * s->air[j];
            s->needed[i] = need;
            if (need > s->most_now[i] + 1e-9) {
                s->given[i] = s->most_now[i];
                changed = s->held[i] = -1;
            } else if (need < s->least_now[i] - 1e-9) {
                s->given[i] = s->least_now[i];
                changed = s->held[i] = -1;
            }
        }
        for (int64_t i = 0; i < n; i++)
            if (s->held[i] == -1) s->held[i] = 0;
        if (!changed) {
            for (int64_t i = 0; i < n; i++)
                if (s->held[i]) s->given[i] = s->needed[i];
            return;
        }
    }
}

static double rooms_step(House *s, int64_t hour, int64_t *room) { /* returns how far the guess was off */
    int64_t n = s->size[ROOMS];
    rooms_matrix(s);
    for (int64_t i = 0; i < n; i++) s->free_air[i] = s->right[i] = s->room_right[i] + s->carried[i];
    solve(s->system, s->free_air, n);
    for (int64_t i = 0; i < n; i++) {
        double after = s->capacity[i] > 0.0 ? 2.0 * s->free_air[i] - s->start[i] : s->free_air[i];
        double heat = s->heat_at[hour * n + i], cool = s->cool_at[hour * n + i];
        int cold = after < heat, hot = !cold && after > cool;
        s->held[i] = cold || hot;
        s->aim[i] = 0.5 * ((cold ? heat : cool) + s->start[i]);
        s->most_now[i] = cold ? s->most[hour * n + i] : 0.0;
        s->least_now[i] = hot ? s->least[hour * n + i] : 0.0;
    }
    int any = 0;
    for (int64_t i = 0; i < n; i++) any |= s->held[i];
    if (any) hold_rooms(s);
    else
        for (int64_t i = 0; i < n; i++) {
            s->air[i] = s->free_air[i];
            s->given[i] = 0.0;
        }
    double moved = 0.0;
    for (int64_t i = 0; i < n; i++)
        if (fabs(s->air[i] - s->guess[i]) >= moved) {
            moved = fabs(s->air[i] - s->guess[i]);
            *room = i;
        }
    return moved;
}

static int wants(const House *s, int64_t c, int64_t hour) {
    int64_t room = s->sensor_room[c];
    double limit = s->on_s[c] < 0.0 ? s->on_at[c] : s->off_at[c], value;
    switch (s->sensor[c]) {
    case NOTHING: return 1;
    case AIR_C: value = s->nodes[room]; break;
    case HUMIDITY: value = vapour_pa(s->vapour[room], s->scalars[S_PRESSURE]) / saturation_pa(s->nodes[room]); break;
    case CARBON_DIOXIDE_PPM: value = s->gas[room] * 1e6 * 0.0289645 / 0.04401; break;
    default: value = s->outdoor_c[hour];
    }
    return s->when_above[c] ? value > limit : value < limit;
}

static void controls(House *s, int64_t hour, int64_t slot, double part) {
    int64_t links = s->size[LINKS], nodes = s->size[NODES], count = s->size[CONTROLS];
    double h = s->scalars[S_STEP];
    memcpy(s->share, s->route_share + hour * links, (size_t)links * sizeof(double));
    memcpy(s->source, s->source_w + hour * nodes, (size_t)nodes * sizeof(double));
    for (int64_t c = 0; c < count; c++) {
        int want = wants(s, c, hour) && s->permit[hour * count + c] > 0.5, running;
        int wanted = want || s->hold_s[c] > 0.0;
        s->hold_s[c] = want ? s->hold_for[c] : fmax(s->hold_s[c] - h, 0.0);
        double since = fabs(s->on_s[c]);
        if (s->on_s[c] >= 0.0) {
            running = wanted || since < s->min_on[c];
            s->on_s[c] = running ? since + h : -h;
        } else {
            running = wanted && since >= s->min_off[c];
            s->on_s[c] = running ? h : -(since + h);
        }
        s->out_on[slot * count + c] += part * running;
        if (!running && !s->has_off[c]) continue;
        double level = running ? s->level_on[c] : s->level_off[c];
        int64_t i = s->target_index[c];
        if (s->target[c] == ROUTE_SHARE) s->share[i] = level * s->route_share[hour * links + i];
        else s->source[i] = s->source_w[hour * nodes + i] + level;
    }
}

/* Where convection follows the difference: what it carries beyond its constant (Walton 1983). */
static void films(House *s) {
    for (int64_t k = 0; k < s->size[FILMS]; k++) {
        double difference = s->nodes[s->film_node[k]] - s->nodes[s->film_room[k]], root = cbrt(fabs(difference));
        double cosine = s->film_cosine[k], coefficient = 1.31 * root;
        if (cosine >= 1e-9)
            coefficient = difference * (double)s->film_sense[k] > 0.0 ? 9.482 * root / (7.238 - cosine)
                                                                      : 1.810 * root / (1.382 + cosine);
        double carried = (coefficient - s->film_constant[k]) * s->film_area[k] * difference;
        s->source[s->film_node[k]] -= carried;
        s->source[s->film_room[k]] += carried;
    }
}

static void tracer_matrix(House *s) {
    int64_t n = s->size[ROOMS], nodes = n + 1;
    for (int64_t i = 0; i < n; i++) {
        double in = 0.0;
        for (int64_t j = 0; j < nodes; j++) in += s->flow[i * nodes + j];
        for (int64_t j = 0; j < n; j++) s->tracer[i * n + j] = -s->flow[i * nodes + j];
        s->tracer[i * n + i] += s->mass[i] / s->scalars[S_STEP] + in;
    }
}

/* Carbon dioxide and age of air after the step: two right sides of one matrix. */
static void trace(House *s, int64_t hour) {
    int64_t n = s->size[ROOMS], nodes = n + 1;
    double h = s->scalars[S_STEP], outdoor = s->scalars[S_OUTDOOR_GAS], came = 0.0, gone = 0.0;
    tracer_matrix(s);
    for (int64_t i = 0; i < n; i++) {
        double in = s->gas_in[hour * n + i] + s->flow[i * nodes + n] * outdoor;
        came += in;
        s->pair[2 * i] = s->mass[i] / h * s->gas[i] + in;
        s->pair[2 * i + 1] = s->mass[i] / h * s->age[i] + s->mass[i];
    }
    solve_many(s->tracer, s->pair, n, 2);
    for (int64_t i = 0; i < n; i++) {
        double after = s->pair[2 * i];
        gone += s->flow[n * nodes + i] * after + s->mass[i] / h * (after - s->gas[i]);
        s->gas[i] = after;
        s->age[i] = s->pair[2 * i + 1];
    }
    s->balance[3] = fmax(s->balance[3], fabs(came - gone) / fmax(came, 1e-12));
}

/* Vapour after the step with what finishes take up; what air cannot hold condenses. */
static void moisten(House *s, int64_t hour, int64_t slot) {
    int64_t n = s->size[ROOMS], nodes = n + 1;
    double h = s->scalars[S_STEP], pressure = s->scalars[S_PRESSURE], outdoor = s->outdoor_vapour[hour];
    double came = 0.0, gone = 0.0;
    tracer_matrix(s);
    for (int64_t i = 0; i < n; i++) {
        double sat = s->saturation[i] = saturation_pa(s->middle[i]);
        double per_share = pressure / (MOLAR + (1.0 - MOLAR) * s->vapour[i]), store = s->buffer_kg[i] / h;
        double take = s->buffer_take[i] * store / fmax(store + s->buffer_take[i] * sat, 1e-30);
        double in = s->vapour_in[hour * n + i] + s->flow[i * nodes + n] * outdoor;
        came += in;
        s->tracer[i * n + i] += take * per_share;
        s->vector[i] = s->mass[i] / h * s->vapour[i] + in + take * s->buffer_rh[i] * sat;
    }
    solve(s->tracer, s->vector, n);
    double left = 0.0, stored = 0.0;
    for (int64_t i = 0; i < n; i++) {
        double sat = s->saturation[i], store = s->buffer_kg[i] / h, after = s->vector[i];
        double per_share = pressure / (MOLAR + (1.0 - MOLAR) * s->vapour[i]);
        double take = s->buffer_take[i] * store / fmax(store + s->buffer_take[i] * sat, 1e-30);
        double taken = take * (after * per_share - s->buffer_rh[i] * sat);
        double most = MOLAR * sat / (pressure - (1.0 - MOLAR) * sat);
        left += s->flow[n * nodes + i] * after + taken;
        stored += s->mass[i] / h * (after - s->vapour[i]);
        s->out_condensed[slot * n + i] += s->mass[i] * fmax(after - most, 0.0);
        s->vapour[i] = fmin(after, most);
        if (s->buffer_kg[i] > 0.0) s->buffer_rh[i] += taken * h / s->buffer_kg[i];
    }
    gone = left + stored;
    s->balance[2] = fmax(s->balance[2], fabs(came - gone) / fmax(fmax(fabs(came), fabs(left)), 1e-12));
}

static void heat_balance(House *s, int64_t hour) {
    int64_t n = s->size[ROOMS];
    const double *boundary = s->boundary_c + hour * s->size[BOUNDARIES];
    double sum = 0.0;
    for (int64_t i = 0; i < s->size[NODES]; i++)
        sum += s->capacity[i] * (s->nodes[i] - s->start[i]) / s->scalars[S_STEP] - s->source[i];
    for (int64_t e = 0; e < s->size[EDGES]; e++)
        sum += s->edge_w_k[e] * (s->middle[s->edge_node[e]] - boundary[s->edge_boundary[e]]);
    for (int64_t i = 0; i < n; i++) {
        for (int64_t j = 0; j < n; j++) sum += s->exchange[i * n + j] * s->middle[j];
        sum -= s->carried[i] + s->given[i];
    }
    s->balance[0] = fmax(s->balance[0], fabs(sum));
}

static int one_step(House *s, int64_t hour, int64_t slot, int64_t *room, double *left) {
    int64_t n = s->size[ROOMS], nodes = s->size[NODES], links = s->size[LINKS];
    double part = 1.0 / (double)s->size[PER_SLOT], weight = 1.0, before = INFINITY;
    controls(s, hour, slot, part);
    films(s);
    memcpy(s->start, s->nodes, (size_t)nodes * sizeof(double));
    memcpy(s->guess, s->nodes, (size_t)n * sizeof(double));
    eliminate(s, hour);
    memcpy(s->p, s->pressure, (size_t)n * sizeof(double));
    s->p[n] = 0.0;
    for (int round = 1;; round++) {
        if (round > MOST_ROUNDS) return ROUNDS_STUCK;
        densities(s, s->guess, hour);
        int status = solve_air(s, hour, room, left);
        if (status != OK) return status;
        carry(s, hour);
        *left = rooms_step(s, hour, room);
        s->balance[4] += 1.0;
        if (*left < s->scalars[S_SETTLED]) break;
        if (*left > 0.7 * before) weight = fmax(0.5 * weight, 0.25);
        for (int64_t i = 0; i < n; i++) s->guess[i] += weight * (s->air[i] - s->guess[i]);
        before = *left;
    }
    back_substitute(s);
    for (int64_t i = 0; i < nodes; i++)
        s->nodes[i] = s->capacity[i] > 0.0 ? 2.0 * s->middle[i] - s->start[i] : s->middle[i];
    heat_balance(s, hour);
    moisten(s, hour, slot);
    trace(s, hour);
    memcpy(s->pressure, s->p, (size_t)n * sizeof(double));
    for (int64_t i = 0; i < nodes; i++) s->out_nodes[slot * nodes + i] += part * s->middle[i];
    for (int64_t i = 0; i < n; i++) {
        s->out_holder[slot * n + i] += part * s->given[i];
        s->out_humidity[slot * n + i] += part * vapour_pa(s->vapour[i], s->scalars[S_PRESSURE]) / s->saturation[i];
        s->out_gas[slot * n + i] += part * s->gas[i];
        s->out_age[slot * n + i] += part * s->age[i];
        s->out_pressure[slot * n + i] += part * s->p[i];
    }
    for (int64_t k = 0; k < links; k++) {
        s->out_forward[slot * links + k] += part * s->forward[k];
        s->out_back[slot * links + k] += part * s->back[k];
    }
    return OK;
}

static int64_t length_of(const int64_t *z, const char *what) {
    int64_t inner = z[NODES] - z[ROOMS], slots = z[HOURS] * z[STEPS] / z[PER_SLOT];
    struct { const char *name; int64_t length; } table[] = {
        {"ROOMS", z[ROOMS]}, {"NODES", z[NODES]}, {"LINKS", z[LINKS]}, {"POINTS", z[POINTS]}, {"FILL", z[FILL]},
        {"EDGES", z[EDGES]}, {"EXCHANGES", z[EXCHANGES]}, {"RECOVERIES", z[RECOVERIES]}, {"CONTROLS", z[CONTROLS]},
        {"FREE", z[FREE]}, {"FILMS", z[FILMS]}, {"HOURS", z[HOURS]}, {"LINKS_1", z[LINKS] + 1}, {"INNER", inner}, {"INNER_1", inner + 1},
        {"ROOMS2", z[ROOMS] * z[ROOMS]}, {"SCALARS", SCALARS_COUNT}, {"SIX", 6}, {"HOURS_B", z[HOURS] * z[BOUNDARIES]},
        {"HOURS_N", z[HOURS] * z[NODES]}, {"HOURS_R", z[HOURS] * z[ROOMS]}, {"HOURS_L", z[HOURS] * z[LINKS]},
        {"HOURS_C", z[HOURS] * z[CONTROLS]}, {"SLOTS_N", slots * z[NODES]}, {"SLOTS_R", slots * z[ROOMS]},
        {"SLOTS_L", slots * z[LINKS]}, {"SLOTS_C", slots * z[CONTROLS]},
    };
    for (size_t k = 0; k < sizeof table / sizeof table[0]; k++)
        if (!strcmp(table[k].name, what)) return table[k].length;
    return -1;
}

static int within(const int64_t *values, int64_t count, int64_t most) {
    for (int64_t k = 0; k < count; k++)
        if (values[k] < 0 || values[k] >= most) return 0;
    return 1;
}

/* Every index that is followed without a look must lie in its array. */
static const char *wrong_index(const House *s) {
    const int64_t *z = s->size;
    int64_t inner = z[NODES] - z[ROOMS];
    if (!within(s->a, z[LINKS], z[ROOMS] + 1) || !within(s->b, z[LINKS], z[ROOMS] + 1)) return "ends of routes";
    if (!within(s->kind, z[LINKS], 3)) return "kinds of routes";
    if (!within(s->row, z[FILL], z[NODES])) return "rows of the factor";
    if (!within(s->column, inner + 1, z[FILL] + 1) || s->column[0] != 0 || s->column[inner] != z[FILL]) return "columns";
    for (int64_t k = 0; k < inner; k++)
        if (s->column[k + 1] < s->column[k]) return "columns of the factor";
    if (!within(s->curve_start, z[LINKS] + 1, z[POINTS] + 1)) return "curves";
    for (int64_t k = 0; k < z[LINKS]; k++)
        if (s->curve_start[k + 1] - s->curve_start[k] < (s->kind[k] == FAN ? 2 : 0)) return "curves of fans";
    if (!within(s->edge_node, z[EDGES], z[NODES]) || !within(s->edge_boundary, z[EDGES], z[BOUNDARIES])) return "edges";
    if (!within(s->above, z[EXCHANGES], z[ROOMS]) || !within(s->below, z[EXCHANGES], z[ROOMS])) return "stairs";
    if (!within(s->recovery_link, z[RECOVERIES], z[LINKS]) || !within(s->recovery_room, z[RECOVERIES], z[ROOMS])) return "recovery";
    if (!within(s->sensor_room, z[CONTROLS], z[ROOMS])) return "sensors";
    for (int64_t c = 0; c < z[CONTROLS]; c++)
        if (s->target_index[c] < 0 || s->target_index[c] >= (s->target[c] == ROUTE_SHARE ? z[LINKS] : z[NODES])) return "targets";
    if (!within(s->free_room, z[FREE], z[ROOMS])) return "free rooms";
    if (!within(s->film_node, z[FILMS], z[NODES]) || !within(s->film_room, z[FILMS], z[ROOMS])) return "films";
    return NULL;
}

static double *workspace(House *s) {
    size_t n = (size_t)s->size[ROOMS], nodes = (size_t)s->size[NODES], links = (size_t)s->size[LINKS], m = n + 1;
    size_t total = 4 * nodes + nodes + 4 * links + 5 * m * m + 26 * m;
    double *memory = calloc(total, sizeof(double)), *at = memory;
    s->held = calloc(m, sizeof(int));
    if (!memory || !s->held) return memory;
#define TAKE(name, count) (s->name = at, at += (count))
    TAKE(source, nodes); TAKE(start, nodes); TAKE(load, nodes); TAKE(middle, nodes);
    TAKE(share, links); TAKE(forward, links); TAKE(back, links); TAKE(slope, links);
    TAKE(newton, m * m); TAKE(flow, m * m); TAKE(exchange, m * m); TAKE(system, m * m); TAKE(tracer, m * m);
    TAKE(rho, m); TAKE(p, m); TAKE(trial, m); TAKE(residual, m); TAKE(carried, m); TAKE(right, m); TAKE(room_right, m);
    TAKE(guess, m); TAKE(air, m); TAKE(free_air, m); TAKE(given, m); TAKE(aim, m); TAKE(most_now, m);
    TAKE(least_now, m); TAKE(needed, m); TAKE(vector, m); TAKE(saturation, m); TAKE(pair, 2 * m);
#undef TAKE
    return memory;
}

static PyObject *run(PyObject *self, PyObject *arguments) {
    (void)self;
    PyObject *sizes, *arrays;
    if (!PyArg_ParseTuple(arguments, "OO", &sizes, &arrays)) return NULL;
    House s = {0};
    if (PySequence_Size(sizes) != SIZES) return PyErr_Format(PyExc_ValueError, "%d sizes are asked", SIZES);
    for (int k = 0; k < SIZES; k++) {
        PyObject *item = PySequence_GetItem(sizes, k);
        if (!item) return NULL;
        s.size[k] = PyLong_AsLongLong(item);
        Py_DECREF(item);
        if (PyErr_Occurred()) return NULL;
        if (s.size[k] < (k == ROOMS || k == STEPS || k == PER_SLOT) || s.size[k] > 100000000)
            return PyErr_Format(PyExc_ValueError, "size %d is %lld", k, (long long)s.size[k]);
    }
    if (s.size[NODES] < s.size[ROOMS]) return PyErr_Format(PyExc_ValueError, "fewer nodes than rooms");
    struct { const char *name, *length; void **place; int integer, writable; } wanted[] = {
#define X(name, length) {#name, #length, (void **)&s.name, 1, 0},
        INTEGERS(X)
#undef X
#define X(name, length) {#name, #length, (void **)&s.name, 0, 0},
        REALS(X)
#undef X
#define X(name, length) {#name, #length, (void **)&s.name, 0, 1},
        CHANGED(X)
#undef X
    };
    enum { COUNT = sizeof wanted / sizeof wanted[0] };
    Py_buffer views[COUNT];
    int got = 0;
    PyObject *answer = NULL;
    double *memory = NULL;
    if (PySequence_Size(arrays) != COUNT) return PyErr_Format(PyExc_ValueError, "%d arrays are asked", (int)COUNT);
    for (; got < COUNT; got++) {
        PyObject *item = PySequence_GetItem(arrays, got);
        if (!item) goto done;
        int failed = PyObject_GetBuffer(item, &views[got], PyBUF_C_CONTIGUOUS | PyBUF_FORMAT | (wanted[got].writable ? PyBUF_WRITABLE : 0));
        Py_DECREF(item);
        if (failed) goto done;
        const char *format = views[got].format ? views[got].format : "B";
        int fits = views[got].itemsize == 8 && (wanted[got].integer ? strchr("lq", format[0]) : strchr("d", format[0])) != NULL;
        if (!fits || views[got].len != 8 * length_of(s.size, wanted[got].length)) {
            PyErr_Format(PyExc_ValueError, "%s must hold %lld 8-byte %s", wanted[got].name,
                         (long long)length_of(s.size, wanted[got].length), wanted[got].integer ? "integers" : "reals");
            got++;
            goto done;
        }
        *wanted[got].place = views[got].buf;
    }
    const char *wrong = wrong_index(&s);
    if (wrong) {
        PyErr_Format(PyExc_ValueError, "an index out of range among the %s", wrong);
        goto done;
    }
    memory = workspace(&s);
    if (!memory || !s.held) {
        PyErr_NoMemory();
        goto done;
    }
    int status = OK;
    int64_t room = 0, hour = 0, count = 0;
    double left = 0.0;
    Py_BEGIN_ALLOW_THREADS
    for (hour = 0; hour < s.size[HOURS] && status == OK; hour++)
        for (int64_t k = 0; k < s.size[STEPS] && status == OK; k++, count++)
            status = one_step(&s, hour, count / s.size[PER_SLOT], &room, &left);
    Py_END_ALLOW_THREADS
    answer = Py_BuildValue("iLLd", status, (long long)(hour - (status != OK)), (long long)room, left);
done:
    while (got-- > 0) PyBuffer_Release(&views[got]);
    free(memory);
    free(s.held);
    return answer;
}

static PyMethodDef methods[] = {
    {"run", run, METH_VARARGS, "run(sizes, arrays): step a house; returns (status, hour, room, residual)."},
    {NULL, NULL, 0, NULL},
};

static struct PyModuleDef module = {PyModuleDef_HEAD_INIT, "_kernel", "The coupled step, compiled.", -1, methods,
                                    NULL, NULL, NULL, NULL};

PyMODINIT_FUNC PyInit__kernel(void) { return PyModule_Create(&module); }
