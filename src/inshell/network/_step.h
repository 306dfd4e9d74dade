/* One coupled step over LANES houses of one topology side by side; included once for each width and instruction set.

   A value V holds the same quantity of every house; a mask M tells of every house whether a condition holds. No lane looks at
   another: a lane that has converged keeps its values, bit for bit, while others go on. */

#if LANES == 1
typedef double NAME(V);
typedef int64_t NAME(M);
#define SPREAD(x) (x)
#define LESS(a, b) ((M) - ((a) < (b)))
#define LESS_EQUAL(a, b) ((M) - ((a) <= (b)))
#define PICK(m, a, b) ((m) ? (a) : (b))
#define ANY(m) ((m) != 0)
#define LANE(x, l) (*((double *)&(x) + (l)))
#define HOLDS(m, l) ((m) != 0)
#else
typedef double NAME(V) __attribute__((vector_size(8 * LANES), aligned(8)));
typedef int64_t NAME(I) __attribute__((vector_size(8 * LANES), aligned(8)));
typedef uint64_t NAME(U) __attribute__((vector_size(8 * LANES), aligned(8)));
#define I NAME(I)
#define U NAME(U)
#define LANE(x, l) ((x)[l])
#if LANES == 8 && defined(__AVX512F__)
#define SPREAD(x) ((V)_mm512_set1_pd(x))
typedef __mmask8 NAME(M);
#define LESS(a, b) _mm512_cmp_pd_mask((__m512d)(a), (__m512d)(b), _CMP_LT_OQ)
#define LESS_EQUAL(a, b) _mm512_cmp_pd_mask((__m512d)(a), (__m512d)(b), _CMP_LE_OQ)
#define PICK(m, a, b) ((V)_mm512_mask_blend_pd((M)(m), (__m512d)(b), (__m512d)(a)))
#define LARGER(a, b) ((V)_mm512_max_pd((__m512d)(b), (__m512d)(a))) /* a where one is no number, as below */
#define SMALLER(a, b) ((V)_mm512_min_pd((__m512d)(b), (__m512d)(a)))
#define SIZE_OF(a) ((V)_mm512_abs_pd((__m512d)(a)))
#define ANY(m) ((M)(m) != 0)
#define HOLDS(m, l) ((m) >> (l) & 1)
#else
typedef NAME(I) NAME(M);
#define LESS(a, b) ((M)((a) < (b)))
#define LESS_EQUAL(a, b) ((M)((a) <= (b)))
#define PICK(m, a, b) ((V)(((I)(a) & (m)) | ((I)(b) & ~(m))))
#define ANY(m) NAME(any)(m)
#define HOLDS(m, l) ((m)[l] != 0)
static inline __attribute__((always_inline)) int NAME(any)(NAME(I) m) {
#if defined(__AVX__)
    return !_mm256_testz_si256((__m256i)m, (__m256i)m);
#else
    int64_t all = 0;
    for (int l = 0; l < LANES; l++) all |= m[l];
    return all != 0;
#endif
}
#if defined(__AVX__)
#define SPREAD(x) ((V)_mm256_set1_pd(x))
#define LARGER(a, b) ((V)_mm256_max_pd((__m256d)(b), (__m256d)(a)))
#define SMALLER(a, b) ((V)_mm256_min_pd((__m256d)(b), (__m256d)(a)))
#endif
#endif
#endif
#define V NAME(V)
#define M NAME(M)
#define ALL ((M){0} - 1)
#ifndef SPREAD
#define SPREAD(x) ((V){0} + (x))
#endif
#ifndef LARGER
#define LARGER(a, b) PICK(LESS(a, b), b, a)
#define SMALLER(a, b) PICK(LESS(b, a), b, a)
#endif
#ifndef SIZE_OF
#define SIZE_OF(a) LARGER(a, -(a))
#endif
#define POSITIVE(a) LARGER(a, SPREAD(0.0))

/* 1/a, 1/sqrt(a) and sqrt(a); where the machine has a first guess of them, two Newton steps instead of a long division. */
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
static inline __attribute__((always_inline)) V NAME(root)(V a) { return a * NAME(inverse_root)(LARGER(a, SPREAD(1e-300))); }
#else
static inline __attribute__((always_inline)) V NAME(root)(V a) {
    V r;
    for (int l = 0; l < LANES; l++) LANE(r, l) = sqrt(LANE(a, l));
    return r;
}
static inline V NAME(inverse)(V a) { return 1.0 / a; }
static inline V NAME(inverse_root)(V a) { return 1.0 / NAME(root)(a); }
#endif

static inline __attribute__((always_inline)) void NAME(inverse_roots)(const V *a, V *r) {
#if LANES == 8 && defined(__AVX512F__)
    V half[TOGETHER];
    for (int u = 0; u < TOGETHER; u++) half[u] = 0.5 * a[u];
    for (int u = 0; u < TOGETHER; u++) r[u] = (V)_mm512_rsqrt14_pd((__m512d)a[u]);
    for (int step = 0; step < 2; step++)
        for (int u = 0; u < TOGETHER; u++) r[u] += r[u] * (0.5 - half[u] * r[u] * r[u]);
#else
    for (int u = 0; u < TOGETHER; u++) r[u] = NAME(inverse_root)(a[u]);
#endif
}

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
    I bits[TOGETHER];
    EACH a[u] = SMALLER(LARGER(a[u], SPREAD(-700.0)), SPREAD(700.0));
    EACH k[u] = a[u] * 1.4426950408889634 + 6755399441055744.0;
    EACH bits[u] = (I)k[u] << 52;
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
    EACH a[u] = (V)(bits[u] + (I)low[u]);
}
static inline __attribute__((always_inline)) void NAME(logs_e)(V *a, int count) {
    V m[TOGETHER], k[TOGETHER], s[TOGETHER], z[TOGETHER], z4[TOGETHER], low[TOGETHER], high[TOGETHER];
    I half[TOGETHER];
    EACH half[u] = (I)(((U)a[u] - 0x3fe6a09e667f3bcdULL + (1024ULL << 52)) >> 52); /* 1024 more than the power of two */
    EACH m[u] = (V)((I)a[u] - (half[u] << 52) + (1024LL << 52));
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
#define X(name, length) int32_t *name; /* in bytes of the values that they lead to */
    OFFSETS(X)
#undef X
#define X(name, length) const V *name;
    REALS(X)
#undef X
#define X(name, length) const void *name; /* one value for all where houses share their walls */
    WALLS(X) EXPONENTS(X)
#undef X
#define X(name, length, row) V *name; /* of the hour */
    FORCINGS(X)
#undef X
#define X(name, length) V *name;
    CHANGED(X)
#undef X
#define X(name, length, row) V *out_##name, *sum_##name;
    TOLD(X)
#undef X
    V *balance;
    V *acting, *more, *middle, *room_store, *passes, *wind_now, *weight, *net, *rest, *rise, *root_b, *per_base, *at_base,
        *newton, *flow, *matrix, *system, *heavy, *rho, *root_rho, *p, *trial, *residual, *steepness, *vector,
        *start, *room_right, *carried, *right, *guess, *change, *air, *free_air, *given, *aim, *most_now, *least_now, *needed,
        *saturation, *per_saturation, *per_share, *take, *pair, *heat_to, *cool_to, *least_to, *vapour_now, *tube_share;
    M *held, *warmed, *chilled, *at_most, *at_least;
    V per_s; /* one over the step */
    V acted, came; /* heat that sources and boundaries give in the hour, and in the step [W] */
    int lane; /* of the house that a failure is about */
} NAME(House);
#define House NAME(House)

/* The value at an offset from the first. */
#define AT(values, offset) (*(V *)((char *)(values) + (offset)))

/* A value of walls and slabs: one for all lanes, or one for each. */
static inline __attribute__((always_inline)) V NAME(of)(const void *array, int64_t k, int64_t shared) {
    if (shared) return SPREAD(((const double *)array)[k]);
    return ((const V *)array)[k];
}

static V NAME(saturation_pa)(V t) {
    M warm = LESS_EQUAL(SPREAD(0.0), t);
    V over = PICK(warm, SPREAD(237.3), SPREAD(265.5)), rate = PICK(warm, SPREAD(17.269), SPREAD(21.875));
    return 610.5 * NAME(power_e)(rate * t * NAME(inverse)(over + t));
}

static inline V NAME(vapour_pa)(V share, V pressure) { return share * pressure * NAME(inverse)(MOLAR + (1.0 - MOLAR) * share); }

/* Solve m x = v for one right side or two, one after the other (x in v), m laid out by elimination.py. No pivots: every
   matrix here is an M-matrix, its diagonal at least the sum of the rest of its row. */
static inline __attribute__((always_inline)) void NAME(solve)(const House *restrict s, V *restrict m, V *restrict v, int sides) {
    int64_t n = s->size[ROOMS], pairs = s->size[PAIRS];
    const int32_t *restrict fill = s->pair_fill, *restrict late = s->pair_late, *restrict order = s->room_order;
    const int64_t *restrict start = s->pair_start;
    const V *below = m + n, *right_of = m + n + pairs;
    V *other = v + n; /* the second right side */
    for (int64_t t = 0; t < n; t++) {
        int64_t k = order[t], first = start[t], last = start[t + 1];
        V inverse = AT(m, k) = NAME(inverse)(AT(m, k));
        for (int64_t e = first; e < last; e++) {
            V f = below[e] * inverse;
            for (int64_t c = first; c < last; c++) AT(m, *fill++) -= f * right_of[c];
            AT(v, late[e]) -= f * AT(v, k);
            if (sides == 2) AT(other, late[e]) -= f * AT(other, k);
        }
    }
    for (int64_t t = n - 1; t >= 0; t--) {
        int64_t k = order[t];
        V x = AT(v, k), y = sides == 2 ? AT(other, k) : x;
        for (int64_t e = start[t]; e < start[t + 1]; e++) {
            x -= right_of[e] * AT(v, late[e]);
            if (sides == 2) y -= right_of[e] * AT(other, late[e]);
        }
        AT(v, k) = x * AT(m, k);
        if (sides == 2) AT(other, k) = y * AT(m, k);
    }
}
static void NAME(solve_one)(const House *s, V *m, V *v) { NAME(solve)(s, m, v, 1); }
static void NAME(solve_two)(const House *s, V *m, V *v) { NAME(solve)(s, m, v, 2); }

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

/* Two-way through a door by the pressure at its sill; `rise` and `root_b` are those of drive. */
static void NAME(door)(const House *restrict s, int64_t k, V sill, V *forward, V *back, V *slope) {
    V rise = s->rise[k], top = sill + rise, result[2], steep[2];
    V swept = s->passes[k] * s->height[k] * NAME(inverse)(rise);
    for (int side = 0; side < 2; side++) {
        double sign = side ? -1.0 : 1.0;
        V t = POSITIVE(sign * top), b = POSITIVE(sign * sill), rt = NAME(root)(t), rb = NAME(root)(b);
        V strength = swept * (side ? s->root_b[k] : AT(s->root_rho, s->a[k]));
        result[side] = strength * (2.0 / 3.0 * sign) * (t * rt - b * rb);
        steep[side] = strength * (rt - rb);
    }
    *forward = result[0];
    *back = result[1];
    *slope = LARGER(steep[0] - steep[1], s->passes[k] * 1e-9);
}

/* What drives every route beside the rooms' pressures: the weight of the air below it, and the wind; over a door's height. */
static void NAME(drive)(House *restrict s) {
    const V *restrict rho = s->rho, *restrict low = s->weight, *restrict wind = s->wind_now;
    const int32_t *restrict a = s->a, *restrict b = s->b;
    V *restrict rest = s->rest;
    for (int64_t k = 0; k < s->size[LINKS]; k++) rest[k] = (AT(rho, a[k]) - AT(rho, b[k])) * low[k] + wind[k];
    for (int64_t k = s->size[ORIFICES] + s->size[POWERS]; k < s->size[LINKS]; k++) {
        if (s->kind[k] != DOOR) break;
        V heavier = AT(rho, b[k]) - AT(rho, a[k]), root_b = AT(s->root_rho, b[k]);
        M alike = LESS(SIZE_OF(heavier), SPREAD(LEAST_DIFFERENCE));
        if (ANY(alike)) { /* a difference too small to divide by is taken as the least */
            V least = PICK(LESS_EQUAL(SPREAD(0.0), heavier), SPREAD(LEAST_DIFFERENCE), SPREAD(-LEAST_DIFFERENCE));
            heavier = PICK(alike, least, heavier);
            root_b = PICK(alike, NAME(root)(AT(rho, a[k]) + least), root_b);
        }
        s->rise[k] = heavier * GRAVITY * s->height[k];
        s->root_b[k] = root_b;
    }
}

/* What cracks pass for each pascal at a density of 1: their strength times the drop to the power of n - 1, by the binomial
   series about the last one taken in full for as long as a drop is within a 64th of that one (the first term left out is below
   5e-14). Each lane goes by its own drop. */
static inline __attribute__((always_inline)) void NAME(rising)(House *restrict s, const int64_t *links, const V *drops, const V *exponents, V *rising) {
    V apart[TOGETHER];
    M far[TOGETHER], any = {0};
    for (int u = 0; u < TOGETHER; u++) {
        apart[u] = drops[u] * s->per_base[links[u]] - 1.0;
        far[u] = ~LESS_EQUAL(SIZE_OF(apart[u]), SPREAD(1.0 / 64.0));
        any |= far[u];
        rising[u] = SPREAD(1.0);
    }
    for (int term = 6; term > 0; term--) /* n - 1 less the terms before, over the term */
        for (int u = 0; u < TOGETHER; u++) rising[u] = 1.0 + apart[u] * (exponents[u] * (1.0 / term) - 1.0) * rising[u];
    for (int u = 0; u < TOGETHER; u++) rising[u] *= s->at_base[links[u]];
    if (!ANY(any)) return;
    V whole[TOGETHER], less[TOGETHER];
    for (int u = 0; u < TOGETHER; u++) less[u] = exponents[u] - 1.0;
    NAME(powers)(drops, less, whole);
    for (int u = 0; u < TOGETHER; u++) {
        int64_t k = links[u];
        whole[u] *= s->passes[k];
        rising[u] = PICK(far[u], whole[u], rising[u]);
        s->per_base[k] = PICK(far[u], NAME(inverse)(drops[u]), s->per_base[k]);
        s->at_base[k] = PICK(far[u], whole[u], s->at_base[k]);
    }
}

/* Net flow from a to b on every route, what every room then has too much of, and how that falls as pressures rise: the matrix
   of Newton's step. Returns the throughput. Routes of a kind follow one another (orifices, other cracks, doors, fans), so that
   their long chains of arithmetic overlap. */
static V NAME(flows)(House *restrict s, const V *restrict p) {
    int64_t n = s->size[ROOMS], orifices = s->size[ORIFICES], cracks = orifices + s->size[POWERS], k = 0;
    const int32_t *restrict a = s->a, *restrict b = s->b, *restrict joint = s->joint_at;
    const V *restrict rest = s->rest, *restrict passes = s->passes, *restrict rho = s->rho;
    V *restrict net = s->net, *restrict residual = s->residual, *restrict steepness = s->steepness, *restrict newton = s->newton;
    V through = SPREAD(0.0), linear = SPREAD(LINEAR_BELOW);
    for (int64_t i = 0; i <= n; i++) {
        residual[i] = SPREAD(0.0);
        steepness[i] = SPREAD(KEEPS_KG_S_PA);
    }
    for (int64_t e = 0; e <= s->size[FREE_PAIRS]; e++) newton[e] = SPREAD(0.0);
#define DROP(k) (AT(p, a[k]) - AT(p, b[k]) - rest[k])
#define TAKE_UP(k, flow, steep) { \
        net[k] = flow; \
        AT(residual, b[k]) += flow; \
        AT(residual, a[k]) -= flow; \
        AT(steepness, b[k]) += steep; \
        AT(steepness, a[k]) += steep; \
        AT(newton, joint[k]) -= steep; \
    }
#define GROUP for (int u = 0; u < TOGETHER; u++)
    while (k < cracks) { /* what goes beyond its kind is worked out with it and left */
        V drops[TOGETHER], sizes[TOGETHER], held[TOGETHER], per_pa[TOGETHER], steep[TOGETHER];
        int64_t end = k < orifices ? orifices : cracks, links[TOGETHER];
        GROUP links[u] = k + u < end ? k + u : end - 1;
        GROUP drops[u] = DROP(links[u]);
        GROUP sizes[u] = SIZE_OF(drops[u]);
        GROUP held[u] = LARGER(sizes[u], linear);
        if (k < orifices) {
            GROUP steep[u] = SPREAD(0.5);
            NAME(inverse_roots)(held, per_pa);
            GROUP per_pa[u] *= passes[links[u]];
        } else {
            GROUP steep[u] = NAME(of)(s->exponent, links[u], s->size[ONE_POWER]);
            NAME(rising)(s, links, held, steep, per_pa);
        }
        GROUP per_pa[u] *= PICK(LESS_EQUAL(SPREAD(0.0), drops[u]), AT(rho, a[links[u]]), AT(rho, b[links[u]]));
        GROUP steep[u] = per_pa[u] * PICK(LESS(sizes[u], linear), SPREAD(1.0), steep[u]);
        GROUP drops[u] *= per_pa[u];
        for (int u = 0; u < TOGETHER && k < end; u++, k++) {
            through += SIZE_OF(drops[u]);
            TAKE_UP(k, drops[u], steep[u])
        }
    }
#undef GROUP
    for (; k < s->size[LINKS]; k++) {
        V forward, back = SPREAD(0.0), steep;
        if (s->kind[k] == FAN) NAME(fan)(s, k, DROP(k), passes[k] * AT(rho, a[k]), &forward, &steep);
        else NAME(door)(s, k, DROP(k), &forward, &back, &steep);
        s->forward[k] = forward;
        s->back[k] = back;
        V flow = forward - back;
        through += forward + back;
        TAKE_UP(k, flow, steep)
    }
#undef TAKE_UP
#undef DROP
    return through;
}

/* What passes each way, where cracks pass one way. */
static void NAME(one_way)(House *restrict s) {
    for (int64_t k = 0; k < s->size[ORIFICES] + s->size[POWERS]; k++) {
        s->forward[k] = POSITIVE(s->net[k]);
        s->back[k] = s->forward[k] - s->net[k];
    }
}

/* The largest residual, and in `steepest` the room whose balance changes most with its pressure. */
static V NAME(worst_free)(const House *restrict s, V *restrict steepest) {
    V worst = SPREAD(0.0), most = SPREAD(0.0);
    for (int64_t i = 0; i < s->size[FREE]; i++) {
        worst = LARGER(worst, SIZE_OF(AT(s->residual, s->free_room[i])));
        most = LARGER(most, AT(s->steepness, s->free_room[i]));
    }
    *steepest = most;
    return worst;
}

static V NAME(along_step)(const House *restrict s) { /* residual of the free rooms projected on the step */
    V sum = SPREAD(0.0);
    for (int64_t i = 0; i < s->size[FREE]; i++) sum += s->vector[i] * AT(s->residual, s->free_room[i]);
    return sum;
}

/* Newton's step over the free rooms: L D L^T of a symmetric M-matrix, laid out by elimination.py. Rows below the
   diagonal come first here, then a place for routes that join no two, the diagonal, and L. */
static void NAME(newton_step)(House *restrict s) {
    int64_t n = s->size[FREE], pairs = s->size[FREE_PAIRS];
    const int32_t *restrict fill = s->free_fill, *restrict late = s->free_late, *restrict order = s->free_order;
    const int64_t *restrict start = s->free_start;
    V *below = s->newton, *m = below + pairs + 1, *share = m + n, *restrict v = s->vector;
    for (int64_t i = 0; i < n; i++) {
        m[i] = AT(s->steepness, s->free_room[i]);
        v[i] = AT(s->residual, s->free_room[i]);
    }
    for (int64_t t = 0; t < n; t++) {
        int64_t k = order[t], first = start[t], last = start[t + 1];
        V inverse = NAME(inverse)(AT(m, k)), mine = AT(v, k);
        for (int64_t e = first; e < last; e++) {
            V f = share[e] = below[e] * inverse;
            for (int64_t c = first; c <= e; c++) AT(below, *fill++) -= f * below[c];
            AT(v, late[e]) -= f * mine;
        }
        AT(v, k) = mine * inverse;
    }
    for (int64_t t = n - 1; t >= 0; t--) {
        V x = AT(v, order[t]);
        for (int64_t e = start[t]; e < start[t + 1]; e++) x -= share[e] * AT(v, late[e]);
        AT(v, order[t]) = x;
    }
}

static int NAME(stuck)(House *restrict s, M open, V value, int64_t *room, double *left) {
    for (int l = 0; l < LANES; l++)
        if (HOLDS(open, l)) {
            s->lane = l;
            *left = LANE(value, l);
            for (int64_t k = 0; k < s->size[FREE]; k++)
                if (fabs(LANE(AT(s->residual, s->free_room[k]), l)) >= *left) *room = s->free_room[k] / (int64_t)sizeof(V);
            return AIR_STUCK;
        }
    return OK;
}

static V NAME(deepest)(const House *restrict s) {
    V deepest = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[ROOMS]; k++) deepest = LARGER(deepest, SIZE_OF(s->p[k]));
    return deepest;
}

/* Share of a step that goes no further than REACH_PA, or twice as far as the deepest pressure (`_searched` of air.py). */
static V NAME(reach)(const House *restrict s, V deepest) {
    V furthest = SPREAD(1e-12);
    for (int64_t k = 0; k < s->size[FREE]; k++) furthest = LARGER(furthest, SIZE_OF(s->vector[k]));
    V most = LARGER(SPREAD(REACH_PA), 2.0 * deepest);
    M further = LESS(most, furthest);
    if (!ANY(further)) return SPREAD(1.0);
    return PICK(further, most / furthest, SPREAD(1.0));
}

static int NAME(solve_air)(House *restrict s, int64_t *room, double *left) {
    int64_t rooms = s->size[ROOMS];
    M open = ALL;
    V through, steepest, worst = SPREAD(0.0);
    NAME(drive)(s);
    through = NAME(flows)(s, s->p);
    for (int iteration = 0; iteration < MOST_ITERATIONS; iteration++) {
        V deepest = NAME(deepest)(s);
        worst = NAME(worst_free)(s, &steepest);
        /* rounding of the deepest pressure makes flows into the steepest room: no balance closes better */
        V allowed = LARGER(LARGER(TOLERANCE * through, ROUNDING * deepest * steepest), SPREAD(NOTHING_KG_S));
        M done = LESS_EQUAL(worst, allowed) & open;
        if (ANY(done)) {
            V share = PICK(LESS_EQUAL(worst, SPREAD(NOTHING_KG_S)), SPREAD(0.0), worst / through);
            s->balance[1] = PICK(done, LARGER(s->balance[1], share), s->balance[1]);
        }
        open &= ~done;
        if (!ANY(open)) return OK;
        s->balance[5] += PICK(open, SPREAD(1.0), SPREAD(0.0));
        NAME(newton_step)(s);
        V ahead = NAME(along_step)(s), part = NAME(reach)(s, deepest);
        M searching = open;
        for (int64_t k = 0; k <= rooms; k++) s->trial[k] = s->p[k];
        for (int cut = 0; cut < MOST_CUTS && ANY(searching); cut++) {
            for (int64_t k = 0; k < s->size[FREE]; k++) {
                int64_t r = s->free_room[k];
                AT(s->trial, r) = PICK(searching, AT(s->p, r) + part * s->vector[k], AT(s->trial, r));
            }
            through = NAME(flows)(s, s->trial);
            V here = NAME(along_step)(s);
            searching &= ~LESS_EQUAL(-0.5 * ahead, here);
            if (!ANY(searching)) break;
            V cutting = SMALLER(LARGER(ahead / (ahead - here), SPREAD(0.1)), SPREAD(0.5));
            part = PICK(searching, part * cutting, part);
        }
        for (int64_t k = 0; k <= rooms; k++) s->p[k] = s->trial[k];
    }
    return NAME(stuck)(s, open, worst, room, left);
}

/* What is heavy about moist air whatever its temperature: rho is this over the temperature [kg K/m3]. */
static void NAME(weigh)(House *restrict s) {
    V pressure = s->scalars[S_PRESSURE];
    for (int64_t k = 0; k <= s->size[ROOMS]; k++) {
        V vapour = k < s->size[ROOMS] ? s->vapour[k] : s->outdoor_vapour[0];
        s->heavy[k] = (pressure - (1.0 - MOLAR) * NAME(vapour_pa)(vapour, pressure)) * (1.0 / GAS_DRY);
    }
}

static void NAME(densities)(House *restrict s, const V *air) {
    int64_t rooms = s->size[ROOMS];
    for (int64_t k = 0; k <= rooms; k++) {
        V t = k < rooms ? air[k] : s->outdoor_c[0];
        s->rho[k] = s->heavy[k] * NAME(inverse)(t + 273.15);
        s->root_rho[k] = NAME(root)(s->rho[k]);
    }
}

/* Mass flow between rooms in places of elimination.py: what comes into each room, then from room to room, from outdoors, to
   outdoors; and what moving air adds to the rooms' heat. */
static void NAME(carry)(House *restrict s) {
    int64_t n = s->size[ROOMS], pairs = s->size[PAIRS], places = n + 2 * pairs;
    int64_t cracks = s->size[ORIFICES] + s->size[POWERS];
    V outdoor = s->outdoor_c[0], *restrict flow = s->flow;
    const V *restrict net = s->net, *restrict reduced = s->reduced;
    const int32_t *restrict into_a = s->into_a, *restrict into_b = s->into_b;
    for (int64_t k = n; k <= places + 2 * n; k++) flow[k] = SPREAD(0.0);
    for (int64_t k = 0; k < cracks; k++) {
        V forward = POSITIVE(net[k]);
        AT(flow, into_b[k]) += forward;
        AT(flow, into_a[k]) += forward - net[k];
    }
    for (int64_t k = cracks; k < s->size[LINKS]; k++) {
        AT(flow, into_b[k]) += s->forward[k];
        AT(flow, into_a[k]) += s->back[k];
    }
    for (int64_t e = 0; e < s->size[EXCHANGES]; e++) {
        V above = s->rho[s->above[e]], below = s->rho[s->below[e]], d = s->diameter[e];
        V heavier = POSITIVE(above - below) / (0.5 * (above + below));
        V mass = 0.055 * NAME(root)(GRAVITY * d * d * d * d * d * heavier) * above;
        AT(flow, s->into_below[e]) += mass;
        AT(flow, s->into_above[e]) += mass;
    }
    for (int64_t i = 0; i < n; i++) {
        flow[i] = flow[places + i];
        s->carried[i] = flow[places + i] * CP * outdoor;
    }
    for (int64_t e = 0; e < pairs; e++) {
        V down = flow[n + e], up = flow[n + pairs + e];
        AT(flow, s->pair_late[e]) += down;
        AT(flow, s->pair_early[e]) += up;
        s->matrix[n + e] = reduced[n + e] - CP * down;
        s->matrix[n + pairs + e] = reduced[n + pairs + e] - CP * up;
    }
    for (int64_t i = 0; i < n; i++) s->matrix[i] = reduced[i] + CP * flow[i];
    for (int64_t v = 0; v < s->size[RECOVERIES]; v++) {
        int64_t k = s->recovery_link[v];
        V back = (k < cracks ? POSITIVE(net[k]) : s->forward[k]) * CP * s->recovery_share[v];
        AT(s->matrix, s->recovery_at[v]) -= back;
        AT(s->carried, s->b[k]) -= back * outdoor;
    }
}

/* What acts through the hour: on nodes sources, gains, and boundaries through what joins nodes to them (over their pivots,
   with the loads that come of it); on routes wind, and how far they are open. */
static inline __attribute__((always_inline)) void NAME(act)(House *restrict s, int shared) {
    int64_t nodes = s->size[NODES];
    V acted = SPREAD(0.0), *restrict acting = s->acting, *restrict load = s->middle;
    for (int64_t i = 0; i < nodes; i++) {
        V source = AT(s->source_w, s->node[i]);
        acted += source;
        acting[i] = source * NAME(of)(s->pivot, i, shared);
    }
    for (int64_t i = 0; i < s->size[ROOMS]; i++) {
        acted += s->gains[i];
        acting[i] += s->gains[i];
    }
    for (int64_t e = 0; e < s->size[EDGES]; e++) {
        V given = NAME(of)(s->edge_w_k, e, shared) * AT(s->boundary_c, s->edge_boundary[e]);
        acted += given;
        AT(acting, s->edge_node[e]) += given * NAME(of)(s->pivot, s->edge_node[e] / (int64_t)sizeof(V), shared);
    }
    for (int64_t i = 0; i < nodes; i++) load[i] = acting[i] + NAME(of)(s->keeps, i, shared) * s->nodes[i];
    s->acted = acted;
    for (int64_t k = 0; k < s->size[LINKS]; k++) {
        V passes = s->strength[k] * s->route_share[s->link[k]];
        M same = LESS_EQUAL(passes, s->passes[k]) & LESS_EQUAL(s->passes[k], passes);
        s->per_base[k] = PICK(same, s->per_base[k], SPREAD(0.0)); /* powers are taken anew */
        s->passes[k] = passes;
        s->wind_now[k] = s->wind[s->link[k]];
    }
}

/* Loads swept from walls and slabs into rooms: what is left is the rooms' right side. Done once a step. */
static inline __attribute__((always_inline)) void NAME(sweep_in)(House *restrict s, int shared) {
    int64_t rooms = s->size[ROOMS], fill = s->size[FILL];
    const int32_t *restrict parent = s->into_parent, *restrict child = s->into_child;
    const void *into = s->into;
    V *restrict load = s->middle;
    s->came = s->acted;
    for (int64_t k = 0; k < s->size[TOUCHED]; k++) {
        AT(load, s->touched[k]) += s->more[k] * NAME(of)(s->touched_pivot, k, shared);
        s->came += s->more[k];
    }
    for (int64_t k = 0; k < fill; k++) AT(load, parent[k]) -= NAME(of)(into, k, shared) * AT(load, child[k]);
    for (int64_t i = 0; i < rooms; i++) s->room_right[i] = load[i];
}

/* The middle of the step in walls and slabs once the rooms are known. */
static inline __attribute__((always_inline)) void NAME(sweep_out)(House *restrict s, int shared) {
    int64_t rooms = s->size[ROOMS], fill = s->size[FILL];
    const int32_t *restrict parent = s->parent, *restrict child = s->child;
    const void *lower = s->lower;
    V *restrict middle = s->middle;
    for (int64_t i = 0; i < rooms; i++) middle[i] = s->air[i];
    for (int64_t k = 0; k < fill; k++) AT(middle, child[k]) -= NAME(of)(lower, k, shared) * AT(middle, parent[k]);
}

/* Where all nodes stand after the step, and with that their loads in the next one; the heat that they stored. */
static inline __attribute__((always_inline)) V NAME(advance)(House *restrict s, int shared) {
    const void *store = s->store, *keeps = s->keeps;
    const V *restrict acting = s->acting;
    V *restrict now = s->nodes, *restrict middle = s->middle, stored = SPREAD(0.0);
    for (int64_t i = 0; i < s->size[NODES]; i++) {
        V holds = NAME(of)(store, i, shared), x = middle[i], before = now[i];
        V after = PICK(LESS(SPREAD(0.0), holds), 2.0 * x - before, x);
        stored += holds * (x - before);
        now[i] = after;
        middle[i] = acting[i] + NAME(of)(keeps, i, shared) * after;
    }
    return stored;
}
#define WALLS_DO(what) (s->size[ONE_WALL] ? NAME(what)(s, 1) : NAME(what)(s, 0))
static void NAME(act_on)(House *s) { WALLS_DO(act); }
static void NAME(walls_in)(House *s) { WALLS_DO(sweep_in); }
static void NAME(walls_out)(House *s) { WALLS_DO(sweep_out); }
static V NAME(walls_on)(House *s) { return WALLS_DO(advance); }
#undef WALLS_DO

/* Heat that each room needs beside what it has, at the temperatures in `air`. */
static void NAME(need)(House *restrict s) {
    int64_t n = s->size[ROOMS], pairs = s->size[PAIRS];
    for (int64_t i = 0; i < n; i++) s->needed[i] = s->matrix[i] * s->air[i] - s->right[i];
    for (int64_t e = 0; e < pairs; e++) {
        int64_t early = s->pair_early[e], late = s->pair_late[e];
        AT(s->needed, late) += s->matrix[n + e] * AT(s->air, early);
        AT(s->needed, early) += s->matrix[n + pairs + e] * AT(s->air, late);
    }
}

/* The rooms' matrix with the rows of held rooms replaced by their set points'. */
static void NAME(with_held)(House *restrict s) {
    int64_t n = s->size[ROOMS], pairs = s->size[PAIRS];
    V nothing = SPREAD(0.0);
    for (int64_t i = 0; i < n; i++) s->system[i] = PICK(s->held[i], SPREAD(1.0), s->matrix[i]);
    for (int64_t e = 0; e < pairs; e++) {
        s->system[n + e] = PICK(s->held[s->pair_late[e] / sizeof(V)], nothing, s->matrix[n + e]);
        s->system[n + pairs + e] = PICK(s->held[s->pair_early[e] / sizeof(V)], nothing, s->matrix[n + pairs + e]);
    }
}

/* Where room i stands after a step whose middle is given. */
static inline V NAME(after)(const House *restrict s, int64_t i, V middle) {
    return PICK(LESS(SPREAD(0.0), s->room_store[i]), 2.0 * middle - s->start[i], middle);
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
        for (int64_t i = 0; i < n; i++) s->air[i] = PICK(s->held[i], s->aim[i], s->right[i] + s->given[i]);
        NAME(with_held)(s);
        NAME(solve_one)(s, s->system, s->air);
        NAME(need)(s);
        wrong = (M){0};
        for (int64_t i = 0; i < n; i++) {
            V need = s->needed[i];
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
    M unsure = {0}, holding = {0};
    for (int64_t i = 0; i < n; i++) {
        s->right[i] = s->room_right[i] + s->carried[i];
        s->aim[i] = 0.5 * (PICK(s->warmed[i], s->heat_to[i], s->cool_to[i]) + s->start[i]);
        s->air[i] = PICK(s->held[i], s->aim[i], s->right[i]);
        holding |= s->held[i];
    }
    if (ANY(holding)) NAME(with_held)(s);
    else for (int64_t k = 0; k < n + 2 * s->size[PAIRS]; k++) s->system[k] = s->matrix[k];
    NAME(solve_one)(s, s->system, s->air);
    if (ANY(holding)) NAME(need)(s);
    for (int64_t i = 0; i < n; i++) {
        M held = s->held[i], warmed = s->warmed[i];
        V after = NAME(after)(s, i, s->air[i]), need = s->needed[i];
        unsure |= ~held & (LESS(after, s->heat_to[i]) | LESS(s->cool_to[i], after));
        M within = LESS_EQUAL(PICK(warmed, SPREAD(0.0), s->least_to[i]), need) & LESS_EQUAL(need, PICK(warmed, s->most[i], SPREAD(0.0)));
        unsure |= held & ~within;
        s->given[i] = PICK(held, need, SPREAD(0.0));
    }
    return !ANY(unsure);
}

static V NAME(how_far)(const House *restrict s) { /* the guess was off */
    V moved = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[FREE]; k++) { /* a room that no air joins to others waits for nothing */
        int64_t i = s->free_room[k];
        moved = LARGER(moved, SIZE_OF(AT(s->air, i) - AT(s->guess, i)));
    }
    return moved;
}

/* How much of the next change to take where the last one did not settle: by how the change itself changed (Aitken). */
static V NAME(relaxed)(const House *restrict s, V weight) {
    V along = SPREAD(0.0), square = SPREAD(0.0);
    for (int64_t k = 0; k < s->size[FREE]; k++) {
        int64_t i = s->free_room[k];
        V change = AT(s->change, i), turn = AT(s->air, i) - AT(s->guess, i) - change;
        along += change * turn;
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
            V after = NAME(after)(s, i, s->air[i]);
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
    for (int64_t k = 0; k < n + 2 * s->size[PAIRS]; k++) s->system[k] = s->matrix[k];
    for (int64_t i = 0; i < n; i++) s->free_air[i] = s->right[i];
    NAME(solve_one)(s, s->system, s->free_air);
    for (int64_t i = 0; i < n; i++) {
        V after = NAME(after)(s, i, s->free_air[i]);
        s->warmed[i] = LESS(after, s->heat_to[i]);
        s->chilled[i] = LESS(s->cool_to[i], after) & ~s->warmed[i];
        any |= s->warmed[i] | s->chilled[i];
    }
    if (ANY(any)) endless = NAME(hold_until_right)(s);
    else
        for (int64_t i = 0; i < n; i++) {
            s->air[i] = s->free_air[i];
            s->given[i] = SPREAD(0.0);
            s->held[i] = (M){0};
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

static void NAME(controls)(House *restrict s, double part) {
    int64_t count = s->size[CONTROLS];
    for (int64_t k = 0; k < s->size[WAYS]; k++) {
        int64_t i = s->ways[k];
        s->passes[i] = s->strength[i] * s->route_share[s->link[i]];
        s->per_base[i] = SPREAD(0.0);
    }
    for (int64_t k = 0; k < s->size[TOUCHED]; k++) s->more[k] = SPREAD(0.0);
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
            LANE(s->sum_on[c], l) += part * running;
            if (!running && !s->has_off[c]) continue;
            double level = running ? LANE(s->level_on[c], l) : LANE(s->level_off[c], l);
            int64_t i = s->target_index[c];
            if (s->target[c] == ROUTE_SHARE) LANE(s->passes[i], l) = level * LANE(s->route_share[s->link[i]], l) * LANE(s->strength[i], l);
            else if (s->target[c] == VAPOUR_KG_S) LANE(s->vapour_now[i], l) = LANE(s->vapour_in[i], l) + level;
            else if (s->target[c] == TUBE_SHARE) LANE(s->tube_share[i], l) = level;
            else LANE(s->more[i], l) = level;
        }
}

/* Heat of the tubes, added to their nodes: half of what it warms its node in the step counts against it. */
static void NAME(tubes)(House *restrict s, double part) {
    for (int64_t k = 0; k < s->size[TUBES]; k++) {
        int64_t i = s->tube_node[k];
        V passes = s->tube_share[k] * s->tube_w_k[k], over = POSITIVE(s->supply[k] - s->nodes[i]);
        V given = passes * over / (1.0 + passes / s->tube_store[k]);
        s->more[s->tube_more[k]] += given;
        s->sum_tube[k] += part * given;
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
        s->more[s->film_node_more[k]] -= carried;
        s->more[s->film_room_more[k]] += carried;
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
    int64_t n = s->size[ROOMS], places = n + 2 * s->size[PAIRS];
    for (int64_t i = 0; i < n; i++) s->system[i] = s->mass[i] * s->per_s + s->flow[i];
    for (int64_t k = n; k < places; k++) s->system[k] = -s->flow[k];
}

/* Carbon dioxide and age of air after the step: two right sides of one matrix. */
static void NAME(trace)(House *restrict s) {
    int64_t n = s->size[ROOMS], places = n + 2 * s->size[PAIRS];
    const V *restrict from_outdoors = s->flow + places, *restrict to_outdoors = s->flow + places + n;
    V outdoor = s->scalars[S_OUTDOOR_GAS], came = SPREAD(0.0), gone = SPREAD(0.0);
    NAME(tracer_matrix)(s);
    for (int64_t i = 0; i < n; i++) {
        V in = s->gas_in[i] + from_outdoors[i] * outdoor, rate = s->mass[i] * s->per_s;
        came += in;
        s->pair[i] = rate * s->gas[i] + in;
        s->pair[n + i] = rate * s->age[i] + s->mass[i];
    }
    NAME(solve_two)(s, s->system, s->pair);
    for (int64_t i = 0; i < n; i++) {
        V after = s->pair[i];
        gone += to_outdoors[i] * after + s->mass[i] * s->per_s * (after - s->gas[i]);
        s->gas[i] = after;
        s->age[i] = s->pair[n + i];
    }
    s->balance[3] = LARGER(s->balance[3], SIZE_OF(came - gone) * NAME(inverse)(LARGER(came, SPREAD(LEAST_PASSING_KG_S))));
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

/* What finishes take up for each unit of vapour share, and what the air of each room holds at most. */
static void NAME(buffers)(House *restrict s) {
    V pressure = s->scalars[S_PRESSURE];
    for (int64_t i = 0; i < s->size[ROOMS]; i++) {
        V sat = s->saturation[i] = NAME(saturation_pa)(s->middle[i]), store = s->buffer_kg[i] * s->per_s;
        s->per_saturation[i] = NAME(inverse)(sat);
        s->per_share[i] = pressure * NAME(inverse)(MOLAR + (1.0 - MOLAR) * s->vapour[i]);
        s->take[i] = s->buffer_take[i] * store * NAME(inverse)(LARGER(store + s->buffer_take[i] * sat, SPREAD(1e-30)));
    }
}

/* Vapour shares after the step in `vector`. */
static void NAME(vapour_after)(House *restrict s) {
    int64_t n = s->size[ROOMS];
    const V *restrict from_outdoors = s->flow + n + 2 * s->size[PAIRS];
    V outdoor = s->outdoor_vapour[0];
    NAME(tracer_matrix)(s);
    for (int64_t i = 0; i < n; i++) {
        s->system[i] += s->take[i] * s->per_share[i] + s->needed[i];
        s->vector[i] = s->mass[i] * s->per_s * s->vapour[i] + s->vapour_now[i] + from_outdoors[i] * outdoor;
        s->vector[i] += s->take[i] * s->buffer_rh[i] * s->saturation[i] + s->aim[i];
    }
    NAME(solve_one)(s, s->system, s->vector);
}

/* Vapour after the step with what coils take out and finishes take up; what air cannot hold condenses. Where the room dries
   below its coil by other means, the coil takes nothing. */
static void NAME(moisten)(House *restrict s) {
    int64_t n = s->size[ROOMS], places = n + 2 * s->size[PAIRS];
    const V *restrict from_outdoors = s->flow + places, *restrict to_outdoors = s->flow + places + n;
    V h = s->scalars[S_STEP], pressure = s->scalars[S_PRESSURE], outdoor = s->outdoor_vapour[0];
    V came = SPREAD(0.0), left = SPREAD(0.0), stored = SPREAD(0.0);
    M drier = {0};
    NAME(buffers)(s);
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
        V sat = s->saturation[i], after = s->vector[i], kg = s->buffer_kg[i];
        V taken = s->take[i] * (after * s->per_share[i] - s->buffer_rh[i] * sat), removed = s->needed[i] * after - s->aim[i];
        V most = MOLAR * sat * NAME(inverse)(pressure - (1.0 - MOLAR) * sat);
        came += s->vapour_now[i] + from_outdoors[i] * outdoor;
        left += to_outdoors[i] * after + taken + removed;
        stored += s->mass[i] * s->per_s * (after - s->vapour[i]);
        s->sum_removed[i] += removed * h;
        s->sum_condensed[i] += s->mass[i] * POSITIVE(after - most);
        s->vapour[i] = SMALLER(after, most);
        s->buffer_rh[i] += PICK(LESS(SPREAD(0.0), kg), taken * h * NAME(inverse)(LARGER(kg, SPREAD(1e-30))), SPREAD(0.0));
    }
    V scale = LARGER(LARGER(SIZE_OF(came), SIZE_OF(left)), SPREAD(LEAST_PASSING_KG_S));
    s->balance[2] = LARGER(s->balance[2], SIZE_OF(came - left - stored) * NAME(inverse)(scale));
}

/* What rooms, moving air and boundaries took of heat in the step; what came and what was stored must close it. */
static V NAME(heat_lost)(const House *restrict s) {
    int64_t n = s->size[ROOMS], pairs = s->size[PAIRS];
    const V *restrict matrix = s->matrix, *restrict reduced = s->reduced;
    V lost = SPREAD(0.0);
    for (int64_t e = 0; e < s->size[EDGES]; e++)
        lost += NAME(of)(s->edge_w_k, e, s->size[ONE_WALL]) * AT(s->middle, s->edge_node[e]);
    for (int64_t i = 0; i < n; i++) lost += (matrix[i] - reduced[i]) * s->air[i] - s->carried[i] - s->given[i];
    for (int64_t e = 0; e < pairs; e++) {
        lost += (matrix[n + e] - reduced[n + e]) * AT(s->air, s->pair_early[e]);
        lost += (matrix[n + pairs + e] - reduced[n + pairs + e]) * AT(s->air, s->pair_late[e]);
    }
    return lost;
}

static void NAME(tell)(House *restrict s, double part) {
    int64_t n = s->size[ROOMS], nodes = s->size[NODES_TOLD], links = s->size[LINKS_TOLD];
    for (int64_t i = 0; i < nodes; i++) AT(s->sum_nodes, s->node[i]) += part * s->middle[i];
    for (int64_t i = 0; i < n; i++) {
        s->sum_holder[i] += part * s->given[i];
        s->sum_humidity[i] += part * NAME(vapour_pa)(s->vapour[i], s->scalars[S_PRESSURE]) * s->per_saturation[i];
        s->sum_gas[i] += part * s->gas[i];
        s->sum_age[i] += part * s->age[i];
        s->sum_pressure[i] += part * s->p[i];
    }
    if (links) NAME(one_way)(s);
    for (int64_t k = 0; k < links; k++) {
        s->sum_forward[s->link[k]] += part * s->forward[k];
        s->sum_back[s->link[k]] += part * s->back[k];
    }
}

/* Means of a slot go out at its end. */
static void NAME(tell_slot)(House *restrict s, int64_t slot) {
    int64_t kept = s->size[KEPT];
#define X(name, length, row) \
    for (int64_t i = 0; i < s->size[row]; i++) { \
        if (kept & 1) s->out_##name[slot * s->size[row] + i] = s->sum_##name[i]; \
        s->sum_##name[i] = SPREAD(0.0); \
    } \
    kept >>= 1;
    TOLD(X)
#undef X
}

/* A step; `fresh` where what acts has changed since the last. */
static int NAME(one_step)(House *restrict s, int fresh, int64_t *room, double *left) {
    int64_t n = s->size[ROOMS];
    double part = 1.0 / (double)s->size[PER_SLOT];
    V weight = SPREAD(1.0), before = SPREAD(1e300);
    M open = ALL;
    NAME(controls)(s, part);
    NAME(films)(s);
    NAME(tubes)(s, part);
    NAME(limits)(s);
    for (int64_t i = 0; i < n; i++) {
        s->guess[i] = s->start[i] = s->nodes[i];
        s->p[i] = s->pressure[i];
    }
    s->p[n] = SPREAD(0.0);
    NAME(walls_in)(s);
    NAME(weigh)(s);
    if (fresh || s->size[EXCHANGES]) { /* else air still moves as it did, and carries the same */
        NAME(densities)(s, s->guess);
        NAME(carry)(s);
    }
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
    NAME(walls_out)(s);
    NAME(moisten)(s);
    NAME(trace)(s);
    for (int64_t i = 0; i < n; i++) s->pressure[i] = s->p[i];
    NAME(tell)(s, part);
    V lost = NAME(heat_lost)(s), stored = NAME(walls_on)(s);
    s->balance[0] = LARGER(s->balance[0], SIZE_OF(stored + lost - s->came));
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
    INTEGERS(X)
#undef X
    int offsets = at;
#define X(name, length) at++;
    OFFSETS(X)
#undef X
#define X(name, length) s.name = arrays[at++];
    REALS(X) WALLS(X) EXPONENTS(X)
#undef X
    int acting = at;
#define X(name, length, row) at++;
    FORCINGS(X)
#undef X
#define X(name, length) s.name = arrays[at++];
    CHANGED(X)
#undef X
#define X(name, length, row) s.out_##name = arrays[at++];
    TOLD(X)
#undef X
    s.balance = arrays[at];
    size_t n = (size_t)size[ROOMS], nodes = (size_t)size[NODES], links = (size_t)size[LINKS], m = n + 1;
    size_t places = n + 2 * (size_t)size[PAIRS], free_places = (size_t)(size[FREE] + 2 * size[FREE_PAIRS] + 1);
    V *free_at = memory;
#define TAKE(name, count) (s.name = free_at, free_at += (count))
    TAKE(acting, nodes); TAKE(middle, nodes); TAKE(more, (size_t)size[TOUCHED]); TAKE(wind_now, links); TAKE(weight, links);
    TAKE(passes, links); TAKE(net, links); TAKE(rest, links);
    TAKE(rise, links); TAKE(root_b, links); TAKE(per_base, links); TAKE(at_base, links); TAKE(newton, free_places);
    TAKE(flow, places + 2 * n + 1); TAKE(matrix, places); TAKE(system, places);
    TAKE(heavy, m); TAKE(rho, m); TAKE(root_rho, m); TAKE(p, m); TAKE(trial, m); TAKE(residual, m); TAKE(steepness, m);
    TAKE(vector, m); TAKE(start, m); TAKE(room_store, m); TAKE(room_right, m); TAKE(carried, m); TAKE(right, m); TAKE(guess, m);
    TAKE(change, m); TAKE(air, m); TAKE(free_air, m); TAKE(given, m); TAKE(aim, m); TAKE(most_now, m); TAKE(least_now, m);
    TAKE(needed, m); TAKE(saturation, m); TAKE(per_saturation, m); TAKE(per_share, m); TAKE(take, m); TAKE(pair, 2 * m);
    TAKE(heat_to, m); TAKE(cool_to, m); TAKE(least_to, m); TAKE(vapour_now, m); TAKE(tube_share, (size_t)size[TUBES]);
#define X(name, length, row) TAKE(name, row);
    FORCINGS(X)
#undef X
#define X(name, length, row) TAKE(sum_##name, (size_t)size[row]);
    TOLD(X)
#undef X
#undef TAKE
#define TAKE(name) (s.name = (M *)free_at, free_at += m)
    TAKE(held); TAKE(warmed); TAKE(chilled); TAKE(at_most); TAKE(at_least);
#undef TAKE
    int32_t *next = (int32_t *)free_at;
#define X(name, length) \
    s.name = next; \
    for (int64_t k = 0; k < length_of(size, #length); k++) *next++ = (int32_t)(((const int64_t *)arrays[offsets])[k] * (int64_t)sizeof(V)); \
    offsets++;
    OFFSETS(X)
#undef X
    s.per_s = 1.0 / s.scalars[S_STEP];
    for (size_t k = 0; k < links; k++) {
        s.weight[k] = GRAVITY * s.low[k];
        s.net[k] = s.forward[k] - s.back[k];
    }
    for (size_t i = 0; i < n; i++) s.room_store[i] = NAME(of)(s.store, (int64_t)i, size[ONE_WALL]);
    int status = OK;
    int64_t count = 0;
    for (int64_t hour = 0; hour < size[HOURS]; hour++) {
        at = acting;
#define X(name, length, row) NAME(row_of)(s.name, arrays[at], hour, row, (int)(size[SHARED] >> (at - acting)) & 1), at++;
        FORCINGS(X)
#undef X
        NAME(act_on)(&s);
        for (int64_t k = 0; k < size[STEPS]; k++, count++) {
            status = NAME(one_step)(&s, k == 0, &where[1], left);
            if (status != OK) {
                where[0] = hour;
                where[2] = s.lane;
                return status;
            }
            if ((count + 1) % size[PER_SLOT] == 0) NAME(tell_slot)(&s, count / size[PER_SLOT]);
        }
    }
    NAME(one_way)(&s);
    return status;
}

#undef House
#undef AT
#undef V
#undef M
#undef U
#undef I
#undef HOLDS
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
