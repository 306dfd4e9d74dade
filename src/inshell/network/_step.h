/* One coupled step over LANES houses of one topology side by side; included once for each width and instruction set.

   A value V holds the same quantity of every house; a mask M has all bits set where a condition holds. No lane looks at
   another: a lane that has converged keeps its values, bit for bit, while others go on. */

#if LANES == 1
typedef double NAME(V);
typedef int64_t NAME(M);
#define V NAME(V)
#define M NAME(M)
#define SPREAD(x) (x)
#define LESS(a, b) ((M) - ((a) < (b)))
#define LESS_EQUAL(a, b) ((M) - ((a) <= (b)))
#define PICK(m, a, b) ((m) ? (a) : (b))
#define ANY(m) ((m) != 0)
#define LANE(x, l) (*((double *)&(x) + (l)))
#else
typedef double NAME(V) __attribute__((vector_size(8 * LANES), aligned(8), may_alias));
typedef int64_t NAME(M) __attribute__((vector_size(8 * LANES), aligned(8), may_alias));
typedef uint64_t NAME(U) __attribute__((vector_size(8 * LANES), aligned(8), may_alias));
#define V NAME(V)
#define M NAME(M)
#define U NAME(U)
#define SPREAD(x) ((V){0} + (x))
#define LESS(a, b) ((M)((a) < (b)))
#define LESS_EQUAL(a, b) ((M)((a) <= (b)))
#define PICK(m, a, b) ((V)(((M)(a) & (m)) | ((M)(b) & ~(m))))
#define ANY(m) NAME(any)(&(m))
#define LANE(x, l) ((x)[l])
static inline int NAME(any)(const M *m) {
#if LANES == 8 && defined(__AVX512F__)
    return _mm512_test_epi64_mask((__m512i)*m, (__m512i)*m) != 0;
#elif LANES == 4 && defined(__AVX__)
    return !_mm256_testz_si256((__m256i)*m, (__m256i)*m);
#else
    int64_t all = 0;
    for (int l = 0; l < LANES; l++) all |= (*m)[l];
    return all != 0;
#endif
}
#endif
#define ALL ((M){0} - 1)
#define LARGER(a, b) PICK(LESS(a, b), b, a)
#define SMALLER(a, b) PICK(LESS(b, a), b, a)
#define POSITIVE(a) LARGER(a, SPREAD(0.0))
#define SIZE_OF(a) LARGER(a, -(a))

static inline __attribute__((always_inline)) V NAME(root)(V a) {
    V r;
    for (int l = 0; l < LANES; l++) LANE(r, l) = sqrt(LANE(a, l));
    return r;
}

/* 1/a and 1/sqrt(a); where the machine has a first guess of them, two Newton steps instead of a long division. */
#if LANES == 8 && defined(__AVX512F__)
static inline __attribute__((always_inline)) V NAME(inverse)(V a) {
    V r = (V)_mm512_rcp14_pd((__m512d)a);
    r += r * (1.0 - a * r);
    return r + r * (1.0 - a * r);
}
static inline __attribute__((always_inline)) V NAME(inverse_root)(V a) {
    V r = (V)_mm512_rsqrt14_pd((__m512d)a), half = 0.5 * a;
    r += r * (0.5 - half * r * r);
    return r + r * (0.5 - half * r * r);
}
#else
static inline V NAME(inverse)(V a) { return 1.0 / a; }
static inline V NAME(inverse_root)(V a) { return 1.0 / NAME(root)(a); }
#endif

#if LANES == 1
static inline V NAME(power_e)(V a) { return exp(a); }
static inline void NAME(powers)(const V *x, const V *n, V *y) {
    for (int u = 0; u < TOGETHER; u++) y[u] = exp(n[u] * log(x[u]));
}
static inline V NAME(cube_root)(V a) { return cbrt(a); }
#else
/* exp and log of every lane, of several numbers at once so that none waits for another's arithmetic; to about 1e-15 of the
   value, arguments being ordinary finite numbers. Taylor to the 13th power and the area tangent, in pairs. */
#define EACH for (int u = 0; u < count; u++)
static inline __attribute__((always_inline)) void NAME(powers_e)(V *a, int count) {
    V k[TOGETHER], r[TOGETHER], r2[TOGETHER], r4[TOGETHER], low[TOGETHER], high[TOGETHER];
    M bits[TOGETHER];
    EACH a[u] = SMALLER(LARGER(a[u], SPREAD(-700.0)), SPREAD(700.0));
    EACH k[u] = a[u] * 1.4426950408889634 + 6755399441055744.0;
    EACH bits[u] = (M)k[u] << 52;
    EACH k[u] -= 6755399441055744.0;
    EACH r[u] = a[u] - k[u] * 0.693147180369123816490;
    EACH r[u] -= k[u] * 1.90821492927058770002e-10;
    EACH r2[u] = r[u] * r[u];
    EACH low[u] = (1.0 / 24.0 + r[u] * (1.0 / 120.0)) + r2[u] * (1.0 / 720.0 + r[u] * (1.0 / 5040.0));
    EACH high[u] = (1.0 / 40320.0 + r[u] * (1.0 / 362880.0)) + r2[u] * (1.0 / 3628800.0 + r[u] * (1.0 / 39916800.0));
    EACH r4[u] = r2[u] * r2[u];
    EACH high[u] += r4[u] * (1.0 / 479001600.0 + r[u] * (1.0 / 6227020800.0));
    EACH low[u] += r4[u] * high[u];
    EACH r2[u] = (1.0 + r[u]) + r2[u] * (0.5 + r[u] * (1.0 / 6.0));
    EACH low[u] = r2[u] + r4[u] * low[u];
    EACH a[u] = (V)(bits[u] + (M)low[u]);
}
static inline __attribute__((always_inline)) void NAME(logs_e)(V *a, int count) {
    V m[TOGETHER], k[TOGETHER], s[TOGETHER], z[TOGETHER], z4[TOGETHER], low[TOGETHER], high[TOGETHER];
    M half[TOGETHER];
    EACH half[u] = (M)(((U)a[u] - 0x3fe6a09e667f3bcdULL + (1024ULL << 52)) >> 52); /* 1024 more than the power of two */
    EACH m[u] = (V)((M)a[u] - (half[u] << 52) + (1024LL << 52));
    EACH k[u] = (V)(half[u] | 0x4330000000000000LL) - (4503599627370496.0 + 1024.0); /* its bits below those of 2^52 */
    EACH s[u] = (m[u] - 1.0) * NAME(inverse)(m[u] + 1.0);
    EACH z[u] = s[u] * s[u];
    EACH z4[u] = z[u] * z[u];
    EACH low[u] = (1.0 + z[u] * (1.0 / 3.0)) + z4[u] * (1.0 / 5.0 + z[u] * (1.0 / 7.0));
    EACH high[u] = (1.0 / 9.0 + z[u] * (1.0 / 11.0)) + z4[u] * (1.0 / 13.0 + z[u] * (1.0 / 15.0));
    EACH z4[u] *= z4[u];
    EACH high[u] += z4[u] * (1.0 / 17.0 + z[u] * (1.0 / 19.0));
    EACH low[u] += z4[u] * high[u];
    EACH a[u] = k[u] * 0.693147180559945286227 + 2.0 * s[u] * low[u];
}
static inline V NAME(power_e)(V a) {
    NAME(powers_e)(&a, 1);
    return a;
}
static inline __attribute__((always_inline)) void NAME(powers)(const V *x, const V *n, V *y) {
    for (int u = 0; u < TOGETHER; u++) y[u] = x[u];
    NAME(logs_e)(y, TOGETHER);
    for (int u = 0; u < TOGETHER; u++) y[u] *= n[u];
    NAME(powers_e)(y, TOGETHER);
}
static inline V NAME(cube_root)(V a) {
    V y = LARGER(a, SPREAD(1e-12));
    NAME(logs_e)(&y, 1);
    return NAME(power_e)(y * (1.0 / 3.0));
}
#undef EACH
#endif

typedef struct {
    int64_t size[SIZES];
#define X(name, length) const int64_t *name;
    INTEGERS(X)
#undef X
#define X(name, length) const V *name;
    REALS(X)
#undef X
#define X(name, length, row) V *name; /* of the hour */
    FORCINGS(X)
#undef X
#define X(name, length) V *name;
    CHANGED(X)
#undef X
    V *share, *source, *start, *load, *middle, *rho, *p, *trial, *residual, *net, *rest, *slope, *newton, *flow, *exchange,
        *carried, *right, *room_right, *system, *guess, *change, *air, *free_air, *given, *aim, *most_now, *least_now, *needed, *tracer, *tube_share,
        *vector, *saturation, *pair, *heat_to, *cool_to, *least_to, *vapour_now;
    M *held, *warmed, *chilled, *at_most, *at_least;
    int lane; /* of the house that a failure is about */
} NAME(House);
#define House NAME(House)

static V NAME(saturation_pa)(V t) {
    M warm = LESS_EQUAL(SPREAD(0.0), t);
    V over = PICK(warm, SPREAD(237.3), SPREAD(265.5)), rate = PICK(warm, SPREAD(17.269), SPREAD(21.875));
    return 610.5 * NAME(power_e)(rate * t / (over + t));
}

static inline V NAME(vapour_pa)(V share, V pressure) { return share * pressure / (MOLAR + (1.0 - MOLAR) * share); }

/* Solve m x = v for `sides` right sides at once (x in v, rows of `sides`). No pivots: every matrix here is an M-matrix,
   its diagonal at least the sum of the rest of its row. */
static void NAME(solve_many)(V *m, V *v, int64_t n, int64_t sides) {
    for (int64_t k = 0; k < n; k++) {
        V inverse = m[k * n + k] = NAME(inverse)(m[k * n + k]);
        for (int64_t i = k + 1; i < n; i++) {
            V f = m[i * n + k] * inverse;
            for (int64_t j = k + 1; j < n; j++) m[i * n + j] -= f * m[k * n + j];
            for (int64_t c = 0; c < sides; c++) v[i * sides + c] -= f * v[k * sides + c];
        }
    }
    for (int64_t k = n - 1; k >= 0; k--)
        for (int64_t c = 0; c < sides; c++) {
            V x = v[k * sides + c] = v[k * sides + c] * m[k * n + k];
            for (int64_t i = 0; i < k; i++) v[i * sides + c] -= m[i * n + k] * x;
        }
}

/* A fan from a to b must make the pressure -drop; helped along, it moves its free flow, beyond its curve nothing. */
static void NAME(fan)(const House *restrict s, int64_t k, V drop, V ra, V *forward, V *slope) {
    int64_t first = s->curve_start[k], last = s->curve_start[k + 1] - 1;
    V against = POSITIVE(-drop), flow = s->curve_m3_s[first], falls = SPREAD(0.0);
    for (int64_t i = first; i < last; i++) {
        V from = s->curve_pa[i], rate = s->curve_falls[i];
        M here = LESS(from, against);
        if (!ANY(here)) break;
        flow = PICK(here, s->curve_m3_s[i] - (against - from) * rate, flow);
        falls = PICK(here, rate, falls);
    }
    M beyond = LESS(s->curve_pa[last], against);
    *forward = ra * PICK(beyond, SPREAD(0.0), flow);
    *slope = ra * PICK(beyond, SPREAD(0.0), POSITIVE(falls));
}

static void NAME(door)(const House *restrict s, int64_t k, V sill, V rho1, V rho2, V *one, V *two, V *slope) {
    V apart = PICK(LESS_EQUAL(rho1, rho2), SPREAD(LEAST_DIFFERENCE), SPREAD(-LEAST_DIFFERENCE));
    rho2 = PICK(LESS(SIZE_OF(rho1 - rho2), SPREAD(LEAST_DIFFERENCE)), rho1 + apart, rho2);
    V top = sill + (rho2 - rho1) * GRAVITY * s->height[k], scale = s->discharge[k] * s->width[k] * 1.4142135623730951;
    V swept = s->height[k] / (top - sill), result[2], steep[2];
    for (int side = 0; side < 2; side++) {
        double sign = side ? -1.0 : 1.0;
        V t = POSITIVE(sign * top), b = POSITIVE(sign * sill), rt = NAME(root)(t), rb = NAME(root)(b);
        V strength = scale * NAME(root)(side ? rho2 : rho1);
        result[side] = strength * (2.0 / 3.0 * sign) * (t * rt - b * rb) * swept;
        steep[side] = strength * (rt - rb) * swept;
    }
    *one = result[0];
    *two = result[1];
    *slope = LARGER(steep[0] - steep[1], SPREAD(1e-9));
}

/* What drives every route beside the rooms' pressures: the weight of the air below it, and the wind. */
static void NAME(drive)(House *restrict s) {
    for (int64_t k = 0; k < s->size[LINKS]; k++)
        s->rest[k] = (s->rho[s->a[k]] - s->rho[s->b[k]]) * GRAVITY * s->low[k] + s->wind[k];
}

/* Net flow from a to b and its derivative by the pressure difference, on every route; returns the throughput. Routes of a
   kind follow one another, so that their long chains of arithmetic overlap. */
static V NAME(flows)(House *restrict s, const V *restrict p) {
    const int64_t *restrict a = s->a, *restrict b = s->b, *restrict next = s->by_kind;
    const V *restrict rho = s->rho, *restrict rest = s->rest, *restrict share = s->share;
    const V *restrict coefficient = s->coefficient, *restrict exponent = s->exponent;
    V *restrict net = s->net, *restrict slope = s->slope;
    V through = SPREAD(0.0), linear = SPREAD(LINEAR_BELOW);
    int64_t orifices = s->size[ORIFICES], cracks = orifices + s->size[POWERS], q = 0;
#define DROP (p[a[k]] - p[b[k]] - rest[k])
#define CRACK_OF(k, drop, rising) { /* rising: the drop to the power of n - 1 */ \
        V size = SIZE_OF(drop), per_pa = (rising) * share[k] * coefficient[k] * PICK(LESS_EQUAL(SPREAD(0.0), drop), rho[a[k]], rho[b[k]]); \
        net[k] = per_pa * drop; \
        slope[k] = PICK(LESS(size, linear), per_pa, exponent[k] * per_pa); \
        through += per_pa * size; \
    }
    for (; q < orifices; q++) {
        int64_t k = next[q];
        V drop = DROP;
        CRACK_OF(k, drop, NAME(inverse_root)(LARGER(SIZE_OF(drop), linear)))
    }
    for (; q < cracks; q += TOGETHER) {
        V drops[TOGETHER], held[TOGETHER], less[TOGETHER], rising[TOGETHER];
        for (int u = 0; u < TOGETHER; u++) {
            int64_t k = next[q + u < cracks ? q + u : cracks - 1];
            drops[u] = DROP;
            held[u] = LARGER(SIZE_OF(drops[u]), linear);
            less[u] = exponent[k] - 1.0;
        }
        NAME(powers)(held, less, rising);
        for (int u = 0; u < TOGETHER && q + u < cracks; u++) {
            int64_t k = next[q + u];
            CRACK_OF(k, drops[u], rising[u])
        }
    }
#undef CRACK_OF
    for (q = cracks; q < s->size[LINKS]; q++) {
        int64_t k = next[q];
        V forward, back = SPREAD(0.0), steep;
        if (s->kind[k] == FAN) NAME(fan)(s, k, DROP, rho[a[k]], &forward, &steep);
        else NAME(door)(s, k, DROP, rho[a[k]], rho[b[k]], &forward, &back, &steep);
        s->forward[k] = forward *= share[k];
        s->back[k] = back *= share[k];
        slope[k] = steep * share[k];
        net[k] = forward - back;
        through += forward + back;
    }
#undef DROP
    return through;
}

/* What every free room has too much of. */
static void NAME(gather)(House *restrict s) {
    for (int64_t i = 0; i < s->size[FREE]; i++) {
        V sum = SPREAD(0.0);
        for (int64_t t = s->touch_start[i]; t < s->touch_start[i + 1]; t++)
            sum = s->touch_in[t] ? sum + s->net[s->touch_link[t]] : sum - s->net[s->touch_link[t]];
        s->residual[i] = sum;
    }
}

/* Cracks pass one way. */
static void NAME(one_way)(House *restrict s) {
    for (int64_t q = 0; q < s->size[ORIFICES] + s->size[POWERS]; q++) {
        int64_t k = s->by_kind[q];
        s->forward[k] = POSITIVE(s->net[k]);
        s->back[k] = s->forward[k] - s->net[k];
    }
}

static V NAME(worst_free)(const House *restrict s) {
    V worst = SPREAD(0.0);
    for (int64_t i = 0; i < s->size[FREE]; i++) worst = LARGER(worst, SIZE_OF(s->residual[i]));
    return worst;
}

static V NAME(along_step)(const House *restrict s) { /* residual of the free rooms projected on the step */
    V sum = SPREAD(0.0);
    for (int64_t i = 0; i < s->size[FREE]; i++) sum += s->vector[i] * s->residual[i];
    return sum;
}

/* Newton's step over the free rooms: L D L^T of a symmetric M-matrix, its lower half; shares of L go to the upper. */
static void NAME(newton_step)(House *restrict s) {
    int64_t n = s->size[FREE];
    V *m = s->newton, *v = s->vector;
    for (int64_t i = 0; i < n; i++) {
        V sum = SPREAD(KEEPS_KG_S_PA);
        for (int64_t t = s->touch_start[i]; t < s->touch_start[i + 1]; t++) sum += s->slope[s->touch_link[t]];
        for (int64_t j = 0; j < i; j++) m[i * n + j] = SPREAD(0.0);
        m[i * n + i] = sum;
        v[i] = s->residual[i];
    }
    for (int64_t q = 0; q < s->size[JOINTS]; q++) m[s->joint_at[q]] -= s->slope[s->joint_link[q]];
    for (int64_t k = 0; k < n; k++) {
        V inverse = m[k * n + k] = NAME(inverse)(m[k * n + k]);
        for (int64_t i = k + 1; i < n; i++) {
            V f = m[k * n + i] = m[i * n + k] * inverse;
            for (int64_t j = k + 1; j <= i; j++) m[i * n + j] -= f * m[j * n + k];
            v[i] -= f * v[k];
        }
        v[k] *= inverse;
    }
    for (int64_t k = n - 1; k > 0; k--)
        for (int64_t i = 0; i < k; i++) v[i] -= m[i * n + k] * v[k];
}

static int NAME(stuck)(House *restrict s, M open, V value, int64_t *room, double *left) {
    for (int l = 0; l < LANES; l++)
        if (((const int64_t *)&open)[l]) {
            s->lane = l;
            *left = LANE(value, l);
            for (int64_t k = 0; k < s->size[FREE]; k++)
                if (fabs(LANE(s->residual[k], l)) >= *left) *room = s->free_room[k];
            return AIR_STUCK;
        }
    return OK;
}

/* Flow that rounding of the deepest pressure makes on the steepest route: no balance closes better. */
static V NAME(unseen)(const House *restrict s) {
    V steepest = SPREAD(0.0), deepest = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[LINKS]; k++) steepest = LARGER(steepest, s->slope[k]);
    for (int64_t k = 0; k < s->size[ROOMS]; k++) deepest = LARGER(deepest, SIZE_OF(s->p[k]));
    return ROUNDING * deepest * steepest;
}

/* Share of a step that goes no further than REACH_PA, or twice as far as the deepest pressure (`_searched` of air.py). */
static V NAME(reach)(const House *restrict s) {
    V furthest = SPREAD(1e-12), deepest = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[FREE]; k++) furthest = LARGER(furthest, SIZE_OF(s->vector[k]));
    for (int64_t k = 0; k < s->size[ROOMS]; k++) deepest = LARGER(deepest, SIZE_OF(s->p[k]));
    return SMALLER(SPREAD(1.0), LARGER(SPREAD(REACH_PA), 2.0 * deepest) / furthest);
}

static int NAME(solve_air)(House *restrict s, int64_t *room, double *left) {
    int64_t rooms = s->size[ROOMS];
    M open = ALL;
    V through, worst = SPREAD(0.0);
    NAME(drive)(s);
    through = NAME(flows)(s, s->p);
    NAME(gather)(s);
    for (int iteration = 0; iteration < MOST_ITERATIONS; iteration++) {
        worst = NAME(worst_free)(s);
        V allowed = LARGER(LARGER(TOLERANCE * through, NAME(unseen)(s)), SPREAD(NOTHING_KG_S));
        M done = LESS_EQUAL(worst, allowed) & open;
        V share = PICK(LESS_EQUAL(worst, SPREAD(NOTHING_KG_S)), SPREAD(0.0), worst / through);
        s->balance[1] = PICK(done, LARGER(s->balance[1], share), s->balance[1]);
        open &= ~done;
        if (!ANY(open)) {
            NAME(one_way)(s);
            return OK;
        }
        s->balance[5] += PICK(open, SPREAD(1.0), SPREAD(0.0));
        NAME(newton_step)(s);
        V ahead = NAME(along_step)(s), part = NAME(reach)(s);
        M searching = open;
        for (int64_t k = 0; k <= rooms; k++) s->trial[k] = s->p[k];
        for (int cut = 0; cut < MOST_CUTS && ANY(searching); cut++) {
            for (int64_t k = 0; k < s->size[FREE]; k++) {
                int64_t r = s->free_room[k];
                s->trial[r] = PICK(searching, s->p[r] + part * s->vector[k], s->trial[r]);
            }
            through = NAME(flows)(s, s->trial);
            NAME(gather)(s);
            V here = NAME(along_step)(s);
            searching &= ~LESS_EQUAL(-0.5 * ahead, here);
            V cutting = SMALLER(LARGER(ahead / (ahead - here), SPREAD(0.1)), SPREAD(0.5));
            part = PICK(searching, part * cutting, part);
        }
        for (int64_t k = 0; k <= rooms; k++) s->p[k] = s->trial[k];
    }
    return NAME(stuck)(s, open, worst, room, left);
}

static void NAME(densities)(House *restrict s, const V *air) {
    int64_t rooms = s->size[ROOMS];
    V pressure = s->scalars[S_PRESSURE];
    for (int64_t k = 0; k <= rooms; k++) {
        V t = k < rooms ? air[k] : s->outdoor_c[0], w = k < rooms ? s->vapour[k] : s->outdoor_vapour[0];
        s->rho[k] = (pressure - (1.0 - MOLAR) * NAME(vapour_pa)(w, pressure)) / (GAS_DRY * (t + 273.15));
    }
}

/* Mass flow into b from a as flow[b][a], outdoors last; what moving air adds to the rooms' heat. */
static void NAME(carry)(House *restrict s) {
    int64_t rooms = s->size[ROOMS], nodes = rooms + 1;
    V outdoor = s->outdoor_c[0];
    for (int64_t k = 0; k < nodes * nodes; k++) s->flow[k] = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[LINKS]; k++) {
        s->flow[s->b[k] * nodes + s->a[k]] += s->forward[k];
        s->flow[s->a[k] * nodes + s->b[k]] += s->back[k];
    }
    for (int64_t e = 0; e < s->size[EXCHANGES]; e++) {
        V above = s->rho[s->above[e]], below = s->rho[s->below[e]], d = s->diameter[e];
        V heavier = POSITIVE(above - below) / (0.5 * (above + below));
        V mass = 0.055 * NAME(root)(GRAVITY * d * d * d * d * d * heavier) * above;
        s->flow[s->below[e] * nodes + s->above[e]] += mass;
        s->flow[s->above[e] * nodes + s->below[e]] += mass;
    }
    for (int64_t i = 0; i < rooms; i++) {
        V in = SPREAD(0.0);
        for (int64_t j = 0; j < nodes; j++) in += s->flow[i * nodes + j];
        for (int64_t j = 0; j < rooms; j++) s->exchange[i * rooms + j] = -s->flow[i * nodes + j] * CP;
        s->exchange[i * rooms + i] += in * CP;
        s->carried[i] = s->flow[i * nodes + rooms] * CP * outdoor;
    }
    for (int64_t v = 0; v < s->size[RECOVERIES]; v++) {
        V back = s->forward[s->recovery_link[v]] * CP * s->recovery_share[v];
        int64_t to = s->b[s->recovery_link[v]];
        s->exchange[to * rooms + s->recovery_room[v]] -= back;
        s->carried[to] -= back * outdoor;
    }
}

/* Loads of all nodes, and the rooms' right side once walls and slabs are eliminated (done once a step). */
static void NAME(eliminate)(House *restrict s) {
    int64_t nodes = s->size[NODES], rooms = s->size[ROOMS];
    V per = 2.0 / s->scalars[S_STEP];
    for (int64_t i = 0; i < nodes; i++) s->load[i] = s->source[i] + s->capacity[i] * per * s->start[i];
    for (int64_t e = 0; e < s->size[EDGES]; e++) s->load[s->edge_node[e]] += s->edge_w_k[e] * s->boundary_c[s->edge_boundary[e]];
    for (int64_t j = 0; j < nodes - rooms; j++) {
        V y = s->load[s->node[j]];
        for (int64_t k = s->column[j]; k < s->column[j + 1]; k++) s->load[s->row[k]] -= s->lower[k] * y;
    }
    for (int64_t i = 0; i < rooms; i++) s->room_right[i] = s->load[i];
}

static void NAME(back_substitute)(House *restrict s) {
    int64_t nodes = s->size[NODES], rooms = s->size[ROOMS];
    for (int64_t i = 0; i < rooms; i++) s->middle[i] = s->air[i];
    for (int64_t j = nodes - rooms - 1; j >= 0; j--) {
        V x = s->load[s->node[j]] * s->pivot[j];
        for (int64_t k = s->column[j]; k < s->column[j + 1]; k++) x -= s->lower[k] * s->middle[s->row[k]];
        s->middle[s->node[j]] = x;
    }
}

/* Rooms at the middle of the step with holders within their limits, as `_held` of thermal.py. Returns where that did not end. */
static M NAME(hold_rooms)(House *restrict s) {
    int64_t n = s->size[ROOMS], together = 2 * n + 2;
    M wrong = {0};
    for (int64_t i = 0; i < n; i++) {
        s->given[i] = SPREAD(0.0);
        s->at_most[i] = s->at_least[i] = wrong;
    }
    for (int64_t turn = 0; turn < 10 * together; turn++) {
        for (int64_t i = 0; i < n; i++) {
            M held = s->held[i];
            s->air[i] = PICK(held, s->aim[i], s->right[i] + s->given[i]);
            for (int64_t j = 0; j < n; j++)
                s->system[i * n + j] = PICK(held, SPREAD(i == j ? 1.0 : 0.0), s->reduced[i * n + j] + s->exchange[i * n + j]);
        }
        NAME(solve_many)(s->system, s->air, n, 1);
        wrong = (M){0};
        for (int64_t i = 0; i < n; i++) {
            V need = -s->right[i];
            for (int64_t j = 0; j < n; j++) need += (s->reduced[i * n + j] + s->exchange[i * n + j]) * s->air[j];
            s->needed[i] = need;
            M over = s->held[i] & LESS(s->most_now[i] + 1e-9, need), under = s->held[i] & LESS(need, s->least_now[i] - 1e-9);
            M back = (s->at_most[i] & LESS(s->aim[i] + 1e-9, s->air[i])) | (s->at_least[i] & LESS(s->air[i], s->aim[i] - 1e-9));
            if (turn >= together) { /* the first alone */
                over &= ~wrong;
                under &= ~wrong;
                back &= ~wrong;
            }
            s->given[i] = PICK(over, s->most_now[i], PICK(under, s->least_now[i], PICK(back, SPREAD(0.0), s->given[i])));
            s->held[i] = (s->held[i] & ~(over | under)) | back;
            s->at_most[i] = (s->at_most[i] & ~back) | over;
            s->at_least[i] = (s->at_least[i] & ~back) | under;
            wrong |= over | under | back;
        }
        if (!ANY(wrong)) break;
    }
    for (int64_t i = 0; i < n; i++) s->given[i] = PICK(s->held[i], s->needed[i], s->given[i]);
    return wrong;
}

/* As if the same rooms were held as before; whether that is the answer, which is then the only one: the matrix is an
   M-matrix, so that one set of holders alone gives each room its set point or leaves it within its bounds. */
static int NAME(same_held)(House *restrict s) {
    int64_t n = s->size[ROOMS];
    M unsure = {0};
    for (int64_t i = 0; i < n; i++) {
        M held = s->held[i];
        s->right[i] = s->room_right[i] + s->carried[i];
        s->aim[i] = 0.5 * (PICK(s->warmed[i], s->heat_to[i], s->cool_to[i]) + s->start[i]);
        s->air[i] = PICK(held, s->aim[i], s->right[i]);
        if (!ANY(held)) for (int64_t j = 0; j < n; j++) s->system[i * n + j] = s->reduced[i * n + j] + s->exchange[i * n + j];
        else for (int64_t j = 0; j < n; j++)
            s->system[i * n + j] = PICK(held, SPREAD(i == j ? 1.0 : 0.0), s->reduced[i * n + j] + s->exchange[i * n + j]);
    }
    NAME(solve_many)(s->system, s->air, n, 1);
    for (int64_t i = 0; i < n; i++) {
        M held = s->held[i], warmed = s->warmed[i];
        V after = PICK(LESS(SPREAD(0.0), s->capacity[i]), 2.0 * s->air[i] - s->start[i], s->air[i]), need = SPREAD(0.0);
        unsure |= ~held & (LESS(after, s->heat_to[i]) | LESS(s->cool_to[i], after));
        if (ANY(held)) {
            need = -s->right[i];
            for (int64_t j = 0; j < n; j++) need += (s->reduced[i * n + j] + s->exchange[i * n + j]) * s->air[j];
            M within = LESS_EQUAL(PICK(warmed, SPREAD(0.0), s->least_to[i]), need) & LESS_EQUAL(need, PICK(warmed, s->most[i], SPREAD(0.0)));
            unsure |= held & ~within;
        }
        s->given[i] = PICK(held, need, SPREAD(0.0));
    }
    return !ANY(unsure);
}

static V NAME(how_far)(const House *restrict s) { /* the guess was off */
    V moved = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[FREE]; k++) { /* a room that no air joins to others waits for nothing */
        int64_t i = s->free_room[k];
        moved = LARGER(moved, SIZE_OF(s->air[i] - s->guess[i]));
    }
    return moved;
}

/* How much of the next change to take where the last one did not settle: by how the change itself changed (Aitken). */
static V NAME(relaxed)(const House *restrict s, V weight) {
    V along = SPREAD(0.0), square = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[FREE]; k++) {
        int64_t i = s->free_room[k];
        V turn = s->air[i] - s->guess[i] - s->change[i];
        along += s->change[i] * turn;
        square += turn * turn;
    }
    V next = LARGER(-weight * along / LARGER(square, SPREAD(1e-30)), SPREAD(LEAST_WEIGHT));
    return PICK(LESS(along, SPREAD(0.0)), SMALLER(next, SPREAD(1.0)), SPREAD(1.0));
}

/* Holders warm or chill by what rooms would do were all free. A room that leaves its bounds once its neighbours are held is
   held as well, until none does. */
static M NAME(hold_until_right)(House *restrict s) {
    int64_t n = s->size[ROOMS];
    M endless = {0};
    for (int64_t turn = 0; turn <= n; turn++) {
        for (int64_t i = 0; i < n; i++) {
            M warmed = s->warmed[i], chilled = s->chilled[i];
            s->held[i] = warmed | chilled;
            s->aim[i] = 0.5 * (PICK(warmed, s->heat_to[i], s->cool_to[i]) + s->start[i]);
            s->most_now[i] = PICK(warmed, s->most[i], SPREAD(0.0));
            s->least_now[i] = PICK(chilled, s->least_to[i], SPREAD(0.0));
        }
        endless = NAME(hold_rooms)(s);
        M changed = {0};
        for (int64_t i = 0; i < n; i++) {
            V after = PICK(LESS(SPREAD(0.0), s->capacity[i]), 2.0 * s->air[i] - s->start[i], s->air[i]);
            M cold = LESS(after, s->heat_to[i] - 1e-9) & ~s->warmed[i], hot = LESS(s->cool_to[i] + 1e-9, after) & ~s->chilled[i];
            s->warmed[i] = (s->warmed[i] | cold) & ~hot;
            s->chilled[i] = (s->chilled[i] | hot) & ~cold;
            changed |= cold | hot;
        }
        if (!ANY(changed)) break;
    }
    return endless;
}

static V NAME(rooms_step)(House *restrict s) { /* returns how far the guess was off */
    int64_t n = s->size[ROOMS];
    M any = {0}, endless = {0};
    if (NAME(same_held)(s)) return NAME(how_far)(s);
    for (int64_t k = 0; k < n * n; k++) s->system[k] = s->reduced[k] + s->exchange[k];
    for (int64_t i = 0; i < n; i++) s->free_air[i] = s->right[i];
    NAME(solve_many)(s->system, s->free_air, n, 1);
    for (int64_t i = 0; i < n; i++) {
        V after = PICK(LESS(SPREAD(0.0), s->capacity[i]), 2.0 * s->free_air[i] - s->start[i], s->free_air[i]);
        s->warmed[i] = LESS(after, s->heat_to[i]);
        s->chilled[i] = LESS(s->cool_to[i], after) & ~s->warmed[i];
        any |= s->warmed[i] | s->chilled[i];
    }
    if (ANY(any)) endless = NAME(hold_until_right)(s);
    else
        for (int64_t i = 0; i < n; i++) {
            s->air[i] = s->free_air[i];
            s->given[i] = SPREAD(0.0);
        }
    return PICK(endless, SPREAD(1e9), NAME(how_far)(s));
}

static int NAME(wants)(const House *restrict s, int64_t c, int lane) {
    int64_t sensed = s->sensor_room[c], room = s->sensor[c] == NODE_C ? 0 : sensed;
    double limit = LANE(s->on_s[c], lane) < 0.0 ? LANE(s->on_at[c], lane) : LANE(s->off_at[c], lane), value;
    double pressure = LANE(s->scalars[S_PRESSURE], lane), t = LANE(s->nodes[room], lane), w = LANE(s->vapour[room], lane);
    switch (s->sensor[c]) {
    case NOTHING: return 1;
    case AIR_C: value = t; break;
    case NODE_C: value = LANE(s->nodes[sensed], lane); break;
    case HUMIDITY:
        value = w * pressure / (MOLAR + (1.0 - MOLAR) * w);
        value /= t >= 0.0 ? 610.5 * exp(17.269 * t / (237.3 + t)) : 610.5 * exp(21.875 * t / (265.5 + t));
        break;
    case CARBON_DIOXIDE_PPM: value = LANE(s->gas[room], lane) * 1e6 * 0.0289645 / 0.04401; break;
    default: value = LANE(s->outdoor_c[0], lane);
    }
    return s->when_above[c] ? value > limit : value < limit;
}

static void NAME(controls)(House *restrict s, int64_t slot, double part) {
    int64_t links = s->size[LINKS], nodes = s->size[NODES], count = s->size[CONTROLS];
    memcpy(s->share, s->route_share, (size_t)links * sizeof(V));
    for (int64_t i = 0; i < s->size[ROOMS]; i++) s->source_w[i] += s->gains[i]; /* of the hour, once */
    for (int64_t i = 0; i < s->size[ROOMS]; i++) s->gains[i] = SPREAD(0.0);
    memcpy(s->source, s->source_w, (size_t)nodes * sizeof(V));
    memcpy(s->vapour_now, s->vapour_in, (size_t)s->size[ROOMS] * sizeof(V));
    for (int64_t k = 0; k < s->size[TUBES]; k++) s->tube_share[k] = SPREAD(0.0);
    for (int64_t c = 0; c < count; c++)
        for (int l = 0; l < LANES; l++) {
            double h = LANE(s->scalars[S_STEP], l), *on_s = &LANE(s->on_s[c], l), *hold_s = &LANE(s->hold_s[c], l);
            int want = NAME(wants)(s, c, l) && LANE(s->permit[c], l) > 0.5, running;
            int wanted = want || *hold_s > 0.0;
            *hold_s = want ? LANE(s->hold_for[c], l) : fmax(*hold_s - h, 0.0);
            double since = fabs(*on_s);
            if (*on_s >= 0.0) {
                running = wanted || since < LANE(s->min_on[c], l);
                *on_s = running ? since + h : -h;
            } else {
                running = wanted && since >= LANE(s->min_off[c], l);
                *on_s = running ? h : -(since + h);
            }
            LANE(s->out_on[slot * count + c], l) += part * running;
            if (!running && !s->has_off[c]) continue;
            double level = running ? LANE(s->level_on[c], l) : LANE(s->level_off[c], l);
            int64_t i = s->target_index[c];
            if (s->target[c] == ROUTE_SHARE) LANE(s->share[i], l) = level * LANE(s->route_share[i], l);
            else if (s->target[c] == VAPOUR_KG_S) LANE(s->vapour_now[i], l) = LANE(s->vapour_in[i], l) + level;
            else if (s->target[c] == TUBE_SHARE) LANE(s->tube_share[i], l) = level;
            else LANE(s->source[i], l) = LANE(s->source_w[i], l) + level;
        }
}

/* Heat of the tubes, added to their nodes: half of what it warms its node in the step counts against it. */
static void NAME(tubes)(House *restrict s, int64_t slot, double part) {
    for (int64_t k = 0; k < s->size[TUBES]; k++) {
        int64_t i = s->tube_node[k];
        V passes = s->tube_share[k] * s->tube_w_k[k], over = POSITIVE(s->supply[k] - s->nodes[i]);
        V given = passes * over / (1.0 + 0.5 * passes * s->scalars[S_STEP] / s->capacity[i]);
        s->source[i] += given;
        s->out_tube[slot * s->size[TUBES] + k] += part * given;
    }
}

/* Where convection follows the difference: what it carries beyond its constant (Walton 1983). */
static void NAME(films)(House *restrict s) {
    for (int64_t k = 0; k < s->size[FILMS]; k++) {
        V difference = s->nodes[s->film_node[k]] - s->nodes[s->film_room[k]], cosine = s->film_cosine[k];
        V root = NAME(cube_root)(SIZE_OF(difference));
        M up = LESS(SPREAD(0.0), difference * (double)s->film_sense[k]), level = LESS(cosine, SPREAD(1e-9));
        V sloped = PICK(up, 9.482 * root / (7.238 - cosine), 1.810 * root / (1.382 + cosine));
        V coefficient = PICK(level, 1.31 * root, sloped);
        V carried = (coefficient - s->film_constant[k]) * s->film_area[k] * difference;
        s->source[s->film_node[k]] -= carried;
        s->source[s->film_room[k]] += carried;
    }
}

static inline V NAME(saturated_ratio)(V t, V pressure) {
    V saturated = NAME(saturation_pa)(t);
    return MOLAR * saturated / (pressure - saturated);
}

/* The sensible part of what coil c takes out of its room's air, of a total (apparatus_c and sensible_w of coil.py). */
static V NAME(sensible)(const House *restrict s, int64_t c, V contact, V total) {
    int64_t room = s->coil_room[c];
    V p = s->scalars[S_PRESSURE], t = s->nodes[room], w = s->vapour[room] / (1.0 - s->vapour[room]);
    V cp = CP + CP_VAPOUR * w, here = t;
    V wanted = CP * t + w * (EVAPORATION + CP_VAPOUR * t) - total / contact;
    V dry = t - total / (contact * cp);
    M is_wet = LESS(NAME(saturated_ratio)(dry, p), w);
    if (ANY(is_wet))
        for (int k = 0; k < COIL_STEPS; k++) {
            M warm = LESS_EQUAL(SPREAD(0.0), here);
            V over = PICK(warm, SPREAD(237.3), SPREAD(265.5)), rate = PICK(warm, SPREAD(17.269 * 237.3), SPREAD(21.875 * 265.5));
            V saturated = NAME(saturation_pa)(here), left = 1.0 / (p - saturated), ratio = MOLAR * saturated * left;
            V rise = rate / ((over + here) * (over + here)), heat = EVAPORATION + CP_VAPOUR * here;
            V slope = CP + CP_VAPOUR * ratio + heat * ratio * rise * p * left;
            here = LARGER(here - (CP * here + ratio * heat - wanted) / slope, SPREAD(-40.0));
        }
    return contact * cp * (t - PICK(is_wet, here, dry));
}

/* What thermostats ask for in this step, and how much heat coils can take (`_limits` of reference.py). */
static void NAME(limits)(House *restrict s) {
    for (int64_t i = 0; i < s->size[ROOMS]; i++) {
        int64_t other = s->senses[i];
        s->heat_to[i] = s->heat_at[i];
        s->cool_to[i] = s->cool_at[i];
        s->least_to[i] = s->least[i];
        if (other == i) continue;
        V follow = 1.0 - NAME(power_e)(-s->scalars[S_STEP] / FOLLOWS_S), here = s->nodes[i], there = s->nodes[other];
        s->heat_to[i] = SMALLER(here + follow * (s->heat_at[i] - there), s->heat_at[i] + FARTHEST_K);
        s->cool_to[i] = LARGER(here + follow * (s->cool_at[i] - there), s->cool_at[i] - FARTHEST_K);
    }
    for (int64_t c = 0; c < s->size[COILS]; c++) s->least_to[s->coil_room[c]] = -NAME(sensible)(s, c, s->coil_high[c], s->coil_most[c]);
}

/* Share of the running latent capacity left over when the fan blows over a wet coil that stands (kept_with_fan_on). */
static V NAME(kept)(V running) {
    V x = SMALLER(LARGER(running, SPREAD(1e-6)), SPREAD(1.0 - 1e-9));
    V on = 900.0 / (CYCLES_MOST_H * (1.0 - x)), off = 900.0 / (CYCLES_MOST_H * x);
    return POSITIVE(1.0 - WET_S * (1.0 - NAME(power_e)(-DRIES * off / WET_S)) / on);
}

/* Air in contact with coil c [kg/s] in this step, and its vapour share there; temperatures are those of the start. */
static V NAME(wet_contact)(const House *restrict s, int64_t c, V *there) {
    int64_t room = s->coil_room[c];
    V w = s->vapour[room] / (1.0 - s->vapour[room]), asked = POSITIVE(-s->given[room]);
    *there = SPREAD(0.0);
    M works = LESS(SPREAD(0.0), asked);
    if (!ANY(works)) return SPREAD(0.0);
    V before = s->nodes[room];
    s->nodes[room] = s->start[room];
    V least = NAME(sensible)(s, c, s->coil_low[c], s->coil_least[c]);
    s->nodes[room] = before;
    V speed = (asked - least) / LARGER(-s->least_to[room] - least, SPREAD(1e-9));
    V contact = s->coil_low[c] + SMALLER(POSITIVE(speed), SPREAD(1.0)) * (s->coil_high[c] - s->coil_low[c]);
    M always = LESS_EQUAL(least, asked);
    V running = PICK(always, SPREAD(1.0), asked / LARGER(least, SPREAD(1e-30)));
    V adp = s->start[room] - LARGER(asked, least) / (contact * (CP + CP_VAPOUR * w));
    V saturated = NAME(saturated_ratio)(adp, s->scalars[S_PRESSURE]);
    works &= LESS(saturated, w);
    *there = saturated / (1.0 + saturated);
    V kept = SPREAD(1.0);
    if (s->coil_always[c]) kept = PICK(always, kept, NAME(kept)(running));
    return PICK(works, contact * running * kept / ((1.0 - s->vapour[room]) * (1.0 - *there)), SPREAD(0.0));
}

static void NAME(tracer_matrix)(House *restrict s) {
    int64_t n = s->size[ROOMS], nodes = n + 1;
    for (int64_t i = 0; i < n; i++) {
        V in = SPREAD(0.0);
        for (int64_t j = 0; j < nodes; j++) in += s->flow[i * nodes + j];
        for (int64_t j = 0; j < n; j++) s->tracer[i * n + j] = -s->flow[i * nodes + j];
        s->tracer[i * n + i] += s->mass[i] / s->scalars[S_STEP] + in;
    }
}

/* Carbon dioxide and age of air after the step: two right sides of one matrix. */
static void NAME(trace)(House *restrict s) {
    int64_t n = s->size[ROOMS], nodes = n + 1;
    V h = s->scalars[S_STEP], outdoor = s->scalars[S_OUTDOOR_GAS], came = SPREAD(0.0), gone = SPREAD(0.0);
    NAME(tracer_matrix)(s);
    for (int64_t i = 0; i < n; i++) {
        V in = s->gas_in[i] + s->flow[i * nodes + n] * outdoor;
        came += in;
        s->pair[2 * i] = s->mass[i] / h * s->gas[i] + in;
        s->pair[2 * i + 1] = s->mass[i] / h * s->age[i] + s->mass[i];
    }
    NAME(solve_many)(s->tracer, s->pair, n, 2);
    for (int64_t i = 0; i < n; i++) {
        V after = s->pair[2 * i];
        gone += s->flow[n * nodes + i] * after + s->mass[i] / h * (after - s->gas[i]);
        s->gas[i] = after;
        s->age[i] = s->pair[2 * i + 1];
    }
    s->balance[3] = LARGER(s->balance[3], SIZE_OF(came - gone) / LARGER(came, SPREAD(1e-12)));
}

/* What coils do to vapour: air in contact of each room in `needed`, times its share there in `aim`. */
static void NAME(wet)(House *restrict s) {
    for (int64_t i = 0; i < s->size[ROOMS]; i++) s->needed[i] = s->aim[i] = SPREAD(0.0);
    for (int64_t c = 0; c < s->size[COILS]; c++) {
        V there, contact = NAME(wet_contact)(s, c, &there);
        s->needed[s->coil_room[c]] = contact;
        s->aim[s->coil_room[c]] = contact * there;
    }
}

/* Vapour shares after the step in `vector`. */
static void NAME(vapour_after)(House *restrict s) {
    int64_t n = s->size[ROOMS], nodes = n + 1;
    V h = s->scalars[S_STEP], pressure = s->scalars[S_PRESSURE], outdoor = s->outdoor_vapour[0];
    NAME(tracer_matrix)(s);
    for (int64_t i = 0; i < n; i++) {
        V sat = s->saturation[i], per_share = pressure / (MOLAR + (1.0 - MOLAR) * s->vapour[i]), store = s->buffer_kg[i] / h;
        V take = s->buffer_take[i] * store / LARGER(store + s->buffer_take[i] * sat, SPREAD(1e-30));
        s->tracer[i * n + i] += take * per_share + s->needed[i];
        s->vector[i] = s->mass[i] / h * s->vapour[i] + s->vapour_now[i] + s->flow[i * nodes + n] * outdoor;
        s->vector[i] += take * s->buffer_rh[i] * sat + s->aim[i];
    }
    NAME(solve_many)(s->tracer, s->vector, n, 1);
}

/* Vapour after the step with what coils take out and finishes take up; what air cannot hold condenses. Where the room dries
   below its coil by other means, the coil takes nothing. */
static void NAME(moisten)(House *restrict s, int64_t slot) {
    int64_t n = s->size[ROOMS], nodes = n + 1;
    V h = s->scalars[S_STEP], pressure = s->scalars[S_PRESSURE], outdoor = s->outdoor_vapour[0];
    V came = SPREAD(0.0), left = SPREAD(0.0), stored = SPREAD(0.0);
    M drier = {0};
    for (int64_t i = 0; i < n; i++) s->saturation[i] = NAME(saturation_pa)(s->middle[i]);
    NAME(wet)(s);
    NAME(vapour_after)(s);
    for (int64_t c = 0; c < s->size[COILS]; c++) {
        int64_t i = s->coil_room[c];
        M gives = LESS(s->needed[i] * s->vector[i], s->aim[i]);
        drier |= gives;
        s->needed[i] = PICK(gives, SPREAD(0.0), s->needed[i]);
        s->aim[i] = PICK(gives, SPREAD(0.0), s->aim[i]);
    }
    if (ANY(drier)) NAME(vapour_after)(s);
    for (int64_t i = 0; i < n; i++) {
        V sat = s->saturation[i], store = s->buffer_kg[i] / h, after = s->vector[i];
        V per_share = pressure / (MOLAR + (1.0 - MOLAR) * s->vapour[i]);
        V take = s->buffer_take[i] * store / LARGER(store + s->buffer_take[i] * sat, SPREAD(1e-30));
        V taken = take * (after * per_share - s->buffer_rh[i] * sat), removed = s->needed[i] * after - s->aim[i];
        V most = MOLAR * sat / (pressure - (1.0 - MOLAR) * sat);
        came += s->vapour_now[i] + s->flow[i * nodes + n] * outdoor;
        left += s->flow[n * nodes + i] * after + taken + removed;
        stored += s->mass[i] / h * (after - s->vapour[i]);
        s->out_removed[slot * n + i] += removed * h;
        s->out_condensed[slot * n + i] += s->mass[i] * POSITIVE(after - most);
        s->vapour[i] = SMALLER(after, most);
        M keeps = LESS(SPREAD(0.0), s->buffer_kg[i]);
        s->buffer_rh[i] += PICK(keeps, taken * h / LARGER(s->buffer_kg[i], SPREAD(1e-30)), SPREAD(0.0));
    }
    V scale = LARGER(LARGER(SIZE_OF(came), SIZE_OF(left)), SPREAD(1e-12));
    s->balance[2] = LARGER(s->balance[2], SIZE_OF(came - left - stored) / scale);
}

static void NAME(heat_balance)(House *restrict s) {
    int64_t n = s->size[ROOMS];
    V stored = SPREAD(0.0), came = SPREAD(0.0), lost = SPREAD(0.0), moved = SPREAD(0.0), per = 1.0 / s->scalars[S_STEP];
    for (int64_t i = 0; i < s->size[NODES]; i++) {
        stored += s->capacity[i] * (s->nodes[i] - s->start[i]);
        came += s->source[i];
    }
    for (int64_t e = 0; e < s->size[EDGES]; e++)
        lost += s->edge_w_k[e] * (s->middle[s->edge_node[e]] - s->boundary_c[s->edge_boundary[e]]);
    for (int64_t i = 0; i < n; i++) {
        V sum = -s->carried[i] - s->given[i];
        for (int64_t j = 0; j < n; j++) sum += s->exchange[i * n + j] * s->middle[j];
        moved += sum;
    }
    s->balance[0] = LARGER(s->balance[0], SIZE_OF(stored * per + lost + moved - came));
}

static void NAME(tell)(House *restrict s, int64_t slot, double part) {
    int64_t n = s->size[ROOMS], nodes = s->size[NODES_TOLD], links = s->size[LINKS_TOLD];
    for (int64_t i = 0; i < nodes; i++) s->out_nodes[slot * nodes + i] += part * s->middle[i];
    for (int64_t i = 0; i < n; i++) {
        s->out_holder[slot * n + i] += part * s->given[i];
        s->out_humidity[slot * n + i] += part * NAME(vapour_pa)(s->vapour[i], s->scalars[S_PRESSURE]) / s->saturation[i];
        s->out_gas[slot * n + i] += part * s->gas[i];
        s->out_age[slot * n + i] += part * s->age[i];
        s->out_pressure[slot * n + i] += part * s->p[i];
    }
    for (int64_t k = 0; k < links; k++) {
        s->out_forward[slot * links + k] += part * s->forward[k];
        s->out_back[slot * links + k] += part * s->back[k];
    }
}

static int NAME(one_step)(House *restrict s, int64_t slot, int64_t *room, double *left) {
    int64_t n = s->size[ROOMS], nodes = s->size[NODES];
    double part = 1.0 / (double)s->size[PER_SLOT];
    V weight = SPREAD(1.0), before = SPREAD(1e300);
    M open = ALL;
    NAME(controls)(s, slot, part);
    NAME(films)(s);
    NAME(tubes)(s, slot, part);
    NAME(limits)(s);
    for (int64_t i = 0; i < nodes; i++) s->start[i] = s->nodes[i];
    for (int64_t i = 0; i < n; i++) {
        s->guess[i] = s->nodes[i];
        s->p[i] = s->pressure[i];
    }
    s->p[n] = SPREAD(0.0);
    NAME(eliminate)(s);
    NAME(densities)(s, s->guess);
    NAME(carry)(s);
    NAME(rooms_step)(s);
    for (int64_t i = 0; i < n; i++) {
        s->guess[i] = s->air[i];
        s->change[i] = SPREAD(0.0);
    }
    for (int round = 1;; round++) {
        NAME(densities)(s, s->guess);
        int status = NAME(solve_air)(s, room, left);
        if (status != OK) return status;
        NAME(carry)(s);
        V moved = NAME(rooms_step)(s);
        s->balance[4] += PICK(open, SPREAD(1.0), SPREAD(0.0));
        open &= ~LESS(moved, s->scalars[S_SETTLED] * (round <= PATIENT_ROUNDS ? 1.0 : round <= LATE_ROUNDS ? LOOSER : LOOSEST));
        if (!ANY(open)) break;
        if (round == MOST_ROUNDS) {
            NAME(stuck)(s, open, moved, room, left);
            return ROUNDS_STUCK;
        }
        if (round >= PATIENT_ROUNDS) weight = SPREAD(SMALL_WEIGHT);
        else weight = PICK(LESS(0.7 * before, moved), NAME(relaxed)(s, weight), weight);
        for (int64_t i = 0; i < n; i++) {
            s->change[i] = s->air[i] - s->guess[i];
            s->guess[i] = PICK(open, s->guess[i] + weight * s->change[i], s->guess[i]);
        }
        before = moved;
    }
    NAME(back_substitute)(s);
    for (int64_t i = 0; i < nodes; i++)
        s->nodes[i] = PICK(LESS(SPREAD(0.0), s->capacity[i]), 2.0 * s->middle[i] - s->start[i], s->middle[i]);
    NAME(heat_balance)(s);
    NAME(moisten)(s, slot);
    NAME(trace)(s);
    for (int64_t i = 0; i < n; i++) s->pressure[i] = s->p[i];
    NAME(tell)(s, slot, part);
    return OK;
}

/* One hour's row of what acts; where it is the same for all, one value stands for every lane. */
static void NAME(row_of)(V *to, const double *from, int64_t hour, int64_t row, int shared) {
    if (!shared) memcpy(to, (const V *)from + hour * row, (size_t)row * sizeof(V));
    else
        for (int64_t i = 0; i < row; i++) to[i] = SPREAD(from[hour * row + i]);
}

/* Step all hours; the memory is the caller's. Returns the status, and where it failed. */
static int NAME(run_hours)(const int64_t *size, void **arrays, void *memory, int64_t *where, double *left) {
    House s = {0};
    memcpy(s.size, size, sizeof s.size);
    int at = 0;
#define X(name, length) s.name = arrays[at++];
    INTEGERS(X) REALS(X)
#undef X
    int acting = at;
#define X(name, length, row) at++;
    FORCINGS(X)
#undef X
#define X(name, length) s.name = arrays[at++];
    CHANGED(X)
#undef X
    size_t n = (size_t)size[ROOMS], nodes = (size_t)size[NODES], links = (size_t)size[LINKS], m = n + 1;
    V *free_at = memory;
#define TAKE(name, count) (s.name = free_at, free_at += (count))
    TAKE(source, nodes); TAKE(start, nodes); TAKE(load, nodes); TAKE(middle, nodes);
    TAKE(share, links); TAKE(net, links); TAKE(rest, links); TAKE(slope, links);
    TAKE(newton, m * m); TAKE(flow, m * m); TAKE(exchange, m * m); TAKE(system, m * m); TAKE(tracer, m * m);
    TAKE(rho, m); TAKE(p, m); TAKE(trial, m); TAKE(residual, m); TAKE(carried, m); TAKE(right, m); TAKE(room_right, m);
    TAKE(guess, m); TAKE(change, m); TAKE(air, m); TAKE(free_air, m); TAKE(given, m); TAKE(aim, m); TAKE(most_now, m); TAKE(least_now, m);
    TAKE(needed, m); TAKE(vector, m); TAKE(saturation, m); TAKE(pair, 2 * m); TAKE(heat_to, m); TAKE(cool_to, m);
    TAKE(least_to, m); TAKE(vapour_now, m); TAKE(tube_share, (size_t)size[TUBES]);
#define X(name, length, row) TAKE(name, row);
    FORCINGS(X)
#undef X
#undef TAKE
    s.held = (M *)free_at;
    s.warmed = s.held + m;
    s.chilled = s.warmed + m;
    s.at_most = s.chilled + m;
    s.at_least = s.at_most + m;
    int status = OK;
    int64_t count = 0;
    for (int64_t hour = 0; hour < size[HOURS]; hour++) {
        at = acting;
#define X(name, length, row) NAME(row_of)(s.name, arrays[at], hour, row, (int)(size[SHARED] >> (at - acting)) & 1), at++;
        FORCINGS(X)
#undef X
        for (int64_t k = 0; k < size[STEPS]; k++, count++) {
            status = NAME(one_step)(&s, count / size[PER_SLOT], &where[1], left);
            if (status != OK) {
                where[0] = hour;
                where[2] = s.lane;
                return status;
            }
        }
    }
    return status;
}

#undef House
#undef V
#undef M
#undef U
#undef SPREAD
#undef LESS
#undef LESS_EQUAL
#undef PICK
#undef ANY
#undef LANE
#undef ALL
#undef LARGER
#undef SMALLER
#undef POSITIVE
#undef SIZE_OF
#undef NAME
#undef LANES
