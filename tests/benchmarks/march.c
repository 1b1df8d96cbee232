/* The march once more, in plain C: kernel, piece, controls, network, map reading, bodies and bank steps.
 *
 * A yardstick for the compiled Python, and a third way to its numbers. Written from the equations in the docstrings of
 * vansim/march and vansim/van; SI units. The fine picture at wanted moments is left out.
 * cc -O3 -shared -fPIC march.c -lm
 */
#include <math.h>
#include <stdint.h>

#define TOUCH_K 1e-8
#define LEAST_S 1e-6
#define READ_EVERY_S 300.0
#define LATENT_J_KG 2.43e6
#define ZERO_C_K 273.15
#define WATER_RATIO 0.621945
#define CP_DRY_AIR 1006.0
#define CP_VAPOUR 1860.0
#define GAS_CONSTANT_DRY 287.042

enum { ECO, BOOST };
enum { DRY, WET };
enum { COOLING_OFF, COOLING_ECO, COOLING_BOOST, COOLING_BOOST_THEN_ECO };
enum { CABIN, CONTENTS, RATIO, SOC, BANK_V, ON, SINCE_SWITCH, SINCE_START, BOOSTING, FAN, SHED, SHED_SOC, BANK_WARMTH_J };
enum {
    CABIN_KS, CONTENTS_KS, RATIO_S, ON_S, STARTS, SENSIBLE_J, STEADY_J, WATER_KG, COOLER_J, PEOPLE_J, VAPOUR_KG, AIR_J,
    AIR_KG, ENVELOPE_J, VEHICLE_J, BANK_WARM_J, WALL_KG, FAN_S, BOOST_S, SUPPLY_KS, LOADS_J, SOLAR_J, ALTERNATOR_J,
    SHORE_J, BANK_J, BANK_AS, BANK_HEAT_J, BANK_LOST_J, UNSERVED_J, SHED_S, OVER_S, CABIN_MAX, END_CABIN, END_CONTENTS,
    END_RATIO, END_SOC, END_V, N_OUT
};

typedef struct {
    double start_s, end_s, outdoor_c, outdoor_k_s, outdoor_ratio, ua_w_k, excess_w, sun_air_w, sun_contents_w, air_kg_s,
        air_w_k, fan_kg_s, fan_w_k, people_w, dogs_w, equipment_w, loads_w, solar_w, alternator_a, shore_w, setpoint_c,
        cooling, fan, vehicle;
} Row;
typedef struct {
    double air_j_k, contents_j_k, coupling_w_k, moisture_kg, pressure_pa, deadband_k, boost_return_k, min_on_s, min_off_s,
        between_starts_s, ramp_s, standby_w, fan_w, vehicle_c, vehicle_w_k, vehicle_w, bank_inside, limit_c;
} House;
typedef struct {
    double capacity_as, r_cell_ohm, r_fixed_ohm, peukert, rated_a, absorption_v, cutoff_v, charge_max_a, charge_from_c,
        charge_to_c, acceptance_per_s, reserve_soc, reconnect_soc;
} BankNumbers;
typedef struct {
    BankNumbers n;
    const double *soc, *ocv, *energy, *efficiency; /* over the breaks of the curve */
    const double *temp, *resistance, *capacity, *charging;
    int breaks, temps;
} Bank;
typedef struct {
    const double *grid, *coil;
    double pressure_pa, first_outdoor_c, step_outdoor_k, first_cabin_c, step_cabin_k, step_ratio;
    int64_t n_outdoor, n_cabin, n_ratio;
} Map;
typedef struct {
    double sensible_w, sensible_per_k, sensible_per_ratio, water_kg_s, water_per_k, water_per_ratio, power_w, power_per_k,
        power_per_ratio, supply_c;
} Running;
typedef struct {
    Running cooler;
    double fade, reached, bodies, bodies_slope, pull, pull_slope, through, other_w, offered_w, warm, below, above, limit;
} Flows;
typedef struct {
    double fast, slow, shape_fast, shape_slow, p_fast, p_slow, q_fast, q_slow, ramp_fast, ramp_slow, p, q, g, tau;
} Modes;
typedef struct { double soc, amps, volts, joules, heat, lost; } Step;
typedef struct { double air, contents, air_ks, contents_ks; } Moved;

static inline double least(double a, double b) { return b < a ? b : a; }
static inline double most(double a, double b) { return b > a ? b : a; }
static inline double held(double x, double low, double high) { return least(most(x, low), high); }

/* --- moist air ---------------------------------------------------------------------------------------------------- */

static double saturation_ratio(double c, double pressure)
{
    double t = c + ZERO_C_K, ln_p;
    if (c < 0.0)
        ln_p = -5.6745359e3 / t + 6.3925247 - 9.677843e-3 * t + 6.2215701e-7 * t * t + 2.0747825e-9 * t * t * t
               - 9.484024e-13 * t * t * t * t + 4.1635019 * log(t);
    else
        ln_p = -5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t * t - 1.4452093e-8 * t * t * t
               + 6.5459673 * log(t);
    double vapour = exp(ln_p);
    return WATER_RATIO * vapour / (pressure - vapour);
}

static double saturation_slope(double c, double ratio)
{
    double t = c + ZERO_C_K;
    double per_k = 5.8002206e3 / (t * t) - 4.8640239e-2 + 8.3529536e-5 * t - 4.3356279e-8 * t * t + 6.5459673 / t;
    return ratio * (1.0 + ratio / WATER_RATIO) * per_k;
}

/* --- bodies ------------------------------------------------------------------------------------------------------- */

static double person_share(double c) { return held(0.652 - 0.0348 * (c - 24.0), 0.0, 0.75); }

static double dog_share(double c) { return 0.65 * held((38.5 - c) / (38.5 - 24.0), 0.0, 1.0); }

/* --- the cooler's map --------------------------------------------------------------------------------------------- */

typedef struct { int64_t i, j, k; double u, v, w; } Cell;

static int64_t bracket(double value, double first, double step, int64_t count, double *within)
{
    double place = held((value - first) / step, 0.0, (double)count - 1.0);
    int64_t cell = (int64_t)place < count - 2 ? (int64_t)place : count - 2;
    *within = place - (double)cell;
    return cell;
}

static double trilinear(const Map *m, int kind, int what, int mode, const Cell *c, double *along_cabin, double *along_ratio)
{
    const double *at = m->grid
        + ((((int64_t)(kind * 2 + what) * 2 + mode) * m->n_outdoor + c->i) * m->n_cabin + c->j) * m->n_ratio + c->k;
    const double *next = at + m->n_cabin * m->n_ratio;
    int64_t row = m->n_ratio;
    double u = c->u, v = c->v, w = c->w;
    double a00 = at[0] * (1 - u) + next[0] * u, a01 = at[1] * (1 - u) + next[1] * u;
    double a10 = at[row] * (1 - u) + next[row] * u, a11 = at[row + 1] * (1 - u) + next[row + 1] * u;
    double low = a00 * (1 - w) + a01 * w, high = a10 * (1 - w) + a11 * w;
    *along_cabin = high - low;
    *along_ratio = (a01 - a00) * (1 - v) + (a11 - a10) * v;
    return low * (1 - v) + high * v;
}

static Running running(const Map *m, int mode, double outdoor, double cabin, double ratio)
{
    double pressure = m->pressure_pa;
    double airflow = m->coil[mode * 3], blower = m->coil[mode * 3 + 1], ntu = m->coil[mode * 3 + 2];
    Cell c;
    c.i = bracket(outdoor, m->first_outdoor_c, m->step_outdoor_k, m->n_outdoor, &c.u);
    c.j = bracket(cabin, m->first_cabin_c, m->step_cabin_k, m->n_cabin, &c.v);
    c.k = bracket(ratio, 0.0, m->step_ratio, m->n_ratio, &c.w);
    int kind = WET;
    double by_k, by_ratio, power_k, power_ratio;
    double surface = trilinear(m, WET, 0, mode, &c, &by_k, &by_ratio), full = saturation_ratio(surface, pressure);
    if (full >= ratio) {
        kind = DRY;
        surface = trilinear(m, DRY, 0, mode, &c, &by_k, &by_ratio);
    }
    double power = trilinear(m, kind, 1, mode, &c, &power_k, &power_ratio);
    by_k /= m->step_cabin_k;
    by_ratio /= m->step_ratio;
    double flow = airflow * (pressure / (GAS_CONSTANT_DRY * (cabin + ZERO_C_K) * (1.0 + ratio / WATER_RATIO)));
    double bypass = exp(-ntu / flow), contact = flow * (1.0 - bypass);
    double heat = CP_DRY_AIR + CP_VAPOUR * ratio, drop = cabin - surface;
    double by_flow = 1.0 - bypass * (1.0 + ntu / flow);
    double contact_k = -by_flow * flow / (cabin + ZERO_C_K), contact_ratio = -by_flow * flow / (WATER_RATIO + ratio);
    double sensible = contact * heat * drop - blower;
    double water = contact * most(0.0, ratio - full), water_k = 0.0, water_ratio = 0.0;
    if (water > 0.0) {
        double rise = saturation_slope(surface, ratio - water / contact);
        water_k = -contact * rise * by_k + contact_k * water / contact;
        water_ratio = most(0.0, contact * (1.0 - rise * by_ratio) + contact_ratio * water / contact);
    }
    return (Running){ sensible, contact * heat * (1.0 - by_k) + contact_k * heat * drop,
                      -contact * heat * by_ratio + contact * CP_VAPOUR * drop + contact_ratio * heat * drop, water, water_k,
                      water_ratio, power, power_k / m->step_cabin_k, power_ratio / m->step_ratio,
                      cabin - sensible / (flow * heat) };
}

/* --- two nodes in closed form ------------------------------------------------------------------------------------- */

static void phi(double z, double *one, double *two, double *three)
{
    if (fabs(z) < 0.1) {
        double tail = 1.0 / 5040 + z * (1.0 / 40320 + z * (1.0 / 362880 + z / 3628800));
        *three = 1.0 / 6 + z * (1.0 / 24 + z * (1.0 / 120 + z * (1.0 / 720 + z * tail)));
        *two = 0.5 + z * *three;
        *one = 1.0 + z * *two;
        return;
    }
    *one = (exp(z) - 1.0) / z;
    *two = (*one - 1.0) / z;
    *three = (*two - 0.5) / z;
}

static Modes modes(const House *h, double loss, double air_w, double contents_w, double drift, double ramp_w)
{
    double tau = h->ramp_s, coupling = h->coupling_w_k;
    double a11 = -(loss + coupling) / h->air_j_k, a12 = coupling / h->air_j_k;
    double a22 = -coupling / h->contents_j_k, a21 = coupling / h->contents_j_k;
    double root = sqrt((a11 - a22) * (a11 - a22) + 4.0 * a12 * a21), fast = 0.5 * (a11 + a22 - root);
    double slow = loss * coupling / (h->air_j_k * h->contents_j_k) / fast;
    double shape_fast = (fast - a11) / a12, shape_slow = (slow - a11) / a12, across = shape_slow - shape_fast;
    double pa = air_w / h->air_j_k, pc = contents_w / h->contents_j_k, qa = drift / h->air_j_k, ga = ramp_w / h->air_j_k;
    if (fabs(fast * tau + 1.0) < 1e-6)
        tau *= 1.0 + 1e-5;
    return (Modes){ fast, slow, shape_fast, shape_slow, (shape_slow * pa - pc) / across, (pc - shape_fast * pa) / across,
                    shape_slow * qa / across, -shape_fast * qa / across, shape_slow * ga / across / (fast + 1.0 / tau),
                    -shape_fast * ga / across / (slow + 1.0 / tau), pa, qa, ga, tau };
}

static double mode_of(double value, double p, double q, double ramp, double tau, double fade, double t, double *area)
{
    double one, two, three;
    phi(value * t, &one, &two, &three);
    double y = t * (p * one + q * t * two);
    *area = t * t * (p * two + q * t * three);
    *area += ramp * (t * one - tau * (1.0 - fade));
    return y + ramp * (1.0 + value * t * one - fade);
}

static Moved advance(const Modes *m, double t)
{
    double fade = m->g != 0.0 ? exp(-t / m->tau) : 0.0, fast_ks, slow_ks;
    double fast = mode_of(m->fast, m->p_fast, m->q_fast, m->ramp_fast, m->tau, fade, t, &fast_ks);
    double slow = mode_of(m->slow, m->p_slow, m->q_slow, m->ramp_slow, m->tau, fade, t, &slow_ks);
    return (Moved){ fast + slow, m->shape_fast * fast + m->shape_slow * slow, fast_ks + slow_ks,
                    m->shape_fast * fast_ks + m->shape_slow * slow_ks };
}

static double faded_ks(double value, double p, double q, double ramp, double tau, double fade, double t, double y)
{
    double gone = tau * (1.0 - fade), g = ramp * (value + 1.0 / tau);
    return (p * gone + q * tau * (gone - t * fade) + g * 0.5 * gone * (1.0 + fade) - fade * y) / (1.0 / tau - value);
}

static double mean_fade(const Modes *m, double t)
{
    double fade = exp(-t / m->tau), fast_ks, slow_ks;
    double fast = mode_of(m->fast, m->p_fast, m->q_fast, m->ramp_fast, m->tau, fade, t, &fast_ks);
    double slow = mode_of(m->slow, m->p_slow, m->q_slow, m->ramp_slow, m->tau, fade, t, &slow_ks);
    if (fabs(fast_ks + slow_ks) < 1e-3 * t)
        return m->tau / t * (1.0 - fade);
    double faded = faded_ks(m->fast, m->p_fast, m->q_fast, m->ramp_fast, m->tau, fade, t, fast)
                   + faded_ks(m->slow, m->p_slow, m->q_slow, m->ramp_slow, m->tau, fade, t, slow);
    return held(faded / (fast_ks + slow_ks), 0.0, 1.0);
}

static double air_and_slope(const Modes *m, double t, double *slope)
{
    double fade = m->g != 0.0 ? exp(-t / m->tau) : 0.0, unused;
    double fast = mode_of(m->fast, m->p_fast, m->q_fast, m->ramp_fast, m->tau, fade, t, &unused);
    double slow = mode_of(m->slow, m->p_slow, m->q_slow, m->ramp_slow, m->tau, fade, t, &unused);
    *slope = m->fast * fast + m->slow * slow + m->p + m->q * t + m->g * fade;
    return fast + slow;
}

static double on_parabola(double goal, double x, double end, double first)
{
    double bend = x - first * end, square = first * first * end * end + 4.0 * bend * goal;
    return square < 0.0 ? end : 2.0 * goal * end / (first * end + copysign(sqrt(square), goal));
}

static double crossing(const Modes *m, double goal, double end, double guess, double close)
{
    double sign = goal > 0.0 ? 1.0 : -1.0, low = 0.0, high = end, slope;
    double t = 0.0 < guess && guess < end ? guess : 0.5 * end;
    for (int i = 0; i < 60; i++) {
        double miss = air_and_slope(m, t, &slope) - goal;
        if (fabs(miss) < close && slope != 0.0)
            return held(t - miss / slope, low, high);
        if (miss * sign > 0.0)
            high = t;
        else
            low = t;
        t = slope != 0.0 ? t - miss / slope : 0.5 * (low + high);
        if (!(low < t && t < high))
            t = 0.5 * (low + high);
        if (high - low < 1e-9)
            break;
    }
    return high;
}

static double turning_point(const Modes *m, double span, double first, double last)
{
    double low = 0.0, high = span, f_low = first, f_high = last, turn = 0.5 * span, slope;
    int straddled = first * last < 0.0 && fabs(first) > 1e-18, kept = 0;
    for (int i = 0; i < 40; i++) {
        turn = straddled ? high - f_high * (high - low) / (f_high - f_low) : 0.5 * (low + high);
        air_and_slope(m, turn, &slope);
        if ((straddled && fabs(slope) < 1e-7 * fabs(first)) || high - low < 1e-6)
            break;
        if (slope * first > 0.0) {
            low = turn, f_low = slope;
            if (kept == 1)
                f_high *= 0.5;
            kept = 1;
        } else {
            high = turn, f_high = slope;
            if (kept == -1)
                f_low *= 0.5;
            kept = -1;
        }
    }
    return turn;
}

static double first_crossing(const Modes *m, double below, double above, double span, double guess, double close)
{
    if (below == -INFINITY && above == INFINITY)
        return span;
    double last, end = span, first = m->p + m->g, far = 2.0 * first * span, x = air_and_slope(m, span, &last);
    int inside = below < x && x < above;
    if (first > 0.0 ? last < 0.0 && x < above && above < far : last > 0.0 && far < below && below < x) {
        double turn = turning_point(m, span, first, last), slope, x_turn = air_and_slope(m, turn, &slope);
        if (!(below < x_turn && x_turn < above))
            end = turn, x = x_turn, inside = 0;
    }
    if (inside)
        return span;
    double goal = x <= below ? below : above;
    return crossing(m, goal, end, guess > 0.0 ? guess : on_parabola(goal, x, end, first), close);
}

/* --- the bank ----------------------------------------------------------------------------------------------------- */

static int piece_of(const Bank *b, double soc)
{
    int low = 0, high = b->breaks - 1;
    while (high - low > 1) {
        int mid = (low + high) / 2;
        if (b->soc[mid] <= soc)
            low = mid;
        else
            high = mid;
    }
    return low;
}

static double slope_in(const Bank *b, int i) { return (b->ocv[i + 1] - b->ocv[i]) / (b->soc[i + 1] - b->soc[i]); }

static double ocv_at(const Bank *b, double soc)
{
    int i = piece_of(b, soc);
    return b->ocv[i] + slope_in(b, i) * (soc - b->soc[i]);
}

static double energy_at(const Bank *b, double soc)
{
    int i = piece_of(b, soc);
    double here = b->ocv[i] + slope_in(b, i) * (soc - b->soc[i]);
    return b->energy[i] + 0.5 * (b->ocv[i] + here) * (soc - b->soc[i]);
}

static double at_temperature(const Bank *b, const double *what, double c)
{
    double place = held((c - b->temp[0]) / (b->temp[1] - b->temp[0]), 0.0, b->temps - 1.0);
    int i = (int)place < b->temps - 2 ? (int)place : b->temps - 2;
    return what[i] + (what[i + 1] - what[i]) * (place - i);
}

static double resistance_ohm(const Bank *b, double c)
{
    return b->n.r_cell_ohm * at_temperature(b, b->resistance, c) + b->n.r_fixed_ohm;
}

static double charge_limit_a(const Bank *b, double c)
{
    if (!(b->n.charge_from_c <= c && c <= b->n.charge_to_c))
        return 0.0;
    return b->n.charge_max_a * at_temperature(b, b->charging, c);
}

static double current_for_power(double ocv, double resistance, double power)
{
    double square = ocv * ocv + 4.0 * resistance * power;
    return square <= 0.0 ? -0.5 * ocv / resistance : 2.0 * power / (ocv + sqrt(square));
}

static double stop_soc(const Bank *b, double power, double c)
{
    double sagging = b->n.cutoff_v + resistance_ohm(b, c) * power / b->n.cutoff_v, soc = 1.0;
    if (sagging <= b->ocv[0])
        soc = 0.0;
    else
        for (int i = 0; i < b->breaks - 1; i++)
            if (sagging < b->ocv[i + 1]) {
                soc = b->soc[i] + (sagging - b->ocv[i]) / (b->ocv[i + 1] - b->ocv[i]) * (b->soc[i + 1] - b->soc[i]);
                break;
            }
    return most(b->n.reserve_soc, soc);
}

static double warmth_w(const Bank *b, double soc, double power, double c)
{
    double ocv = ocv_at(b, soc), resistance = resistance_ohm(b, c);
    double current = current_for_power(ocv, resistance, power), unused = 0.0;
    if (power > 0.0) {
        double limit = least(charge_limit_a(b, c), b->n.acceptance_per_s * (1.0 - soc) * b->n.capacity_as);
        current = most(least(least(current, limit), (b->n.absorption_v - ocv) / resistance), 0.0);
        unused = soc < 1.0 ? 1.0 - b->efficiency[piece_of(b, soc)] : 0.0;
    }
    return resistance * current * current + unused * ocv * current;
}

static Step discharge(const Bank *b, double soc, double power, double c, double span)
{
    double resistance = resistance_ohm(b, c), usable = at_temperature(b, b->capacity, c);
    int i = piece_of(b, soc);
    double slope = slope_in(b, i), start = b->ocv[i] + slope * (soc - b->soc[i]);
    double ocv = start, end = soc, current = 0.0, factor = 1.0;
    for (int n = 0; n < 12; n++) {
        current = -current_for_power(ocv, resistance, -power);
        factor = 1.0;
        if (b->n.peukert > 1.0 && current > b->n.rated_a)
            factor = pow(current / b->n.rated_a, b->n.peukert - 1.0);
        factor /= usable;
        double last = end;
        end = most(soc - current * factor * span / b->n.capacity_as, 0.0);
        ocv = end >= b->soc[i] ? start - 0.5 * slope * (soc - end) : (energy_at(b, soc) - energy_at(b, end)) / (soc - end);
        if (fabs(end - last) < 1e-10)
            break;
    }
    current = (soc - end) * b->n.capacity_as / factor / span;
    double stored = ocv * (soc - end) * b->n.capacity_as;
    double heat = resistance * current * current * span, lost = stored * (1.0 - 1.0 / factor);
    return (Step){ end, -current, ocv - resistance * current, stored - lost - heat, heat, lost };
}

/* Within one straight piece of the curve. Returns the time used; adds charge to `passed` and energies to `s`. */
static double charge_piece(const Bank *b, double power, double resistance, double limit, double span, Step *s, double *passed)
{
    const BankNumbers *n = &b->n;
    double soc = s->soc;
    int i = piece_of(b, soc);
    double top = b->soc[i + 1], stored = b->efficiency[i], slope = slope_in(b, i);
    double ocv = b->ocv[i] + slope * (soc - b->soc[i]), per_charge = stored / n->capacity_as;
    double constant = least(current_for_power(ocv, resistance, power), limit);
    double by_voltage = (n->absorption_v - ocv) / resistance;
    double by_chemistry = n->acceptance_per_s * (1.0 - soc) * n->capacity_as, end, used, dq, heat, mean, taken;
    if (constant < least(by_voltage, by_chemistry) * (1.0 - 1e-9)) {
        double meets_v = soc + (by_voltage - constant) * resistance / slope;
        double meets_c = 1.0 - constant / (n->acceptance_per_s * n->capacity_as);
        double goal = least(top, most(least(meets_v, meets_c), soc));
        end = soc;
        for (int k = 0; k < 8; k++) {
            double last = end;
            end = least(soc + constant * per_charge * span, goal);
            constant = least(current_for_power(ocv + 0.5 * slope * (end - soc), resistance, power), limit);
            if (fabs(end - last) < 1e-13)
                break;
        }
        if (end >= goal - 1e-13)
            end = most(goal, soc + 1e-13);
        used = least((end - soc) / (constant * per_charge), span);
        dq = constant * used;
        end = least(soc + dq * per_charge, 1.0);
        mean = ocv + 0.5 * slope * (end - soc);
        heat = resistance * constant * dq;
        taken = (mean + resistance * constant) * dq;
    } else {
        if (by_voltage <= 0.0)
            return 0.0;
        double first = by_chemistry, tau = 1.0 / (stored * n->acceptance_per_s);
        if (by_voltage <= by_chemistry)
            first = by_voltage, tau = resistance / (slope * per_charge);
        double reach = first * per_charge * tau;
        used = span;
        if (soc + reach * (1.0 - exp(-span / tau)) > top)
            used = -tau * log1p(-least((top - soc) / reach, 1.0 - 1e-16));
        dq = first * tau * (1.0 - exp(-used / tau));
        end = least(soc + dq * per_charge, 1.0);
        if (end >= top - 1e-14)
            end = top;
        heat = resistance * first * first * 0.5 * tau * (1.0 - exp(-2.0 * used / tau));
        mean = ocv + 0.5 * slope * (end - soc);
        if (by_chemistry < by_voltage)
            heat = most(least(n->absorption_v * dq, power * used) - mean * dq, heat);
        taken = mean * dq + heat;
    }
    s->soc = end;
    if (used > 0.0) {
        s->joules += taken;
        s->heat += heat;
        s->lost += (1.0 - stored) * mean * dq;
        *passed += dq;
    }
    return used;
}

static Step charge(const Bank *b, double soc, double power, double c, double span)
{
    double resistance = resistance_ohm(b, c), limit = charge_limit_a(b, c), left = span, passed = 0.0;
    Step s = { soc, 0.0, 0.0, 0.0, 0.0, 0.0 };
    for (int n = 0; n < 400 && left > 0.0 && s.soc < 1.0 && limit > 0.0 && power > 1e-9; n++) {
        double used = charge_piece(b, power, resistance, limit, left, &s, &passed);
        if (used <= 0.0)
            break;
        left -= used;
    }
    s.volts = passed > 0.0 ? s.joules / passed : ocv_at(b, s.soc);
    s.amps = passed / span;
    return s;
}

/* --- controls ----------------------------------------------------------------------------------------------------- */

static int decide(const Row *f, const House *h, double *s, double outdoor, int *mode)
{
    double high = f->setpoint_c + 0.5 * h->deadband_k, low = f->setpoint_c - 0.5 * h->deadband_k;
    int started = 0;
    if (f->cooling == COOLING_OFF || s[SHED] != 0.0) {
        s[BOOSTING] = 1.0;
        if (s[ON] > 0.0)
            s[ON] = 0.0, s[SINCE_SWITCH] = 0.0;
    } else {
        if (s[CABIN] >= f->setpoint_c + h->boost_return_k - TOUCH_K)
            s[BOOSTING] = 1.0;
        if (s[ON] > 0.0) {
            if (s[CABIN] <= low + TOUCH_K && s[SINCE_SWITCH] >= h->min_on_s - TOUCH_K)
                s[ON] = s[SINCE_SWITCH] = s[BOOSTING] = 0.0;
        } else if (s[CABIN] >= high - TOUCH_K && s[SINCE_SWITCH] >= h->min_off_s - TOUCH_K
                   && s[SINCE_START] >= h->between_starts_s - TOUCH_K) {
            s[ON] = 1.0, s[SINCE_SWITCH] = s[SINCE_START] = 0.0;
            started = 1;
        }
    }
    if (f->fan == 1)
        s[FAN] = 1.0;
    else if (f->fan == 0 || s[ON] > 0.0)
        s[FAN] = 0.0;
    else {
        int helps = s[FAN] > 0.0 ? outdoor < s[CABIN] - 0.5 && s[CABIN] > f->setpoint_c - 1.0
                                 : outdoor < s[CABIN] - 2.0 && s[CABIN] > f->setpoint_c;
        s[FAN] = helps && f->outdoor_ratio <= 0.0138 ? 1.0 : 0.0;
    }
    int boost = f->cooling == COOLING_BOOST || (f->cooling == COOLING_BOOST_THEN_ECO && s[BOOSTING] > 0.0);
    *mode = boost ? BOOST : ECO;
    return started;
}

static double levels(const Row *f, const House *h, const double *s, double *below, double *above)
{
    double wait = INFINITY, cabin = s[CABIN];
    *below = -INFINITY, *above = INFINITY;
    if (f->cooling == COOLING_OFF || s[SHED] > 0.0)
        return wait;
    double high = f->setpoint_c + 0.5 * h->deadband_k - cabin, low = f->setpoint_c - 0.5 * h->deadband_k - cabin;
    double runaway = f->setpoint_c + h->boost_return_k - cabin;
    if (f->cooling == COOLING_BOOST_THEN_ECO && s[BOOSTING] == 0.0 && runaway > TOUCH_K)
        *above = runaway;
    if (s[ON] > 0.0) {
        if (low < -TOUCH_K)
            *below = low;
        else
            wait = h->min_on_s - s[SINCE_SWITCH];
    } else if (high > TOUCH_K)
        *above = least(*above, high);
    else
        wait = most(h->min_off_s - s[SINCE_SWITCH], h->between_starts_s - s[SINCE_START]);
    return wait;
}

/* --- one piece ---------------------------------------------------------------------------------------------------- */

static Flows flows_now(const Row *f, const House *h, const Map *m, const Bank *b, const double *s, int mode, double outdoor,
                       double limit)
{
    Flows n = { 0 };
    double cabin = s[CABIN], wait = levels(f, h, s, &n.below, &n.above);
    limit = least(limit, most(wait, LEAST_S));
    if (s[ON] > 0.0) {
        double since = s[SINCE_START];
        if (since < 2.0 * h->ramp_s - 1e-9)
            limit = least(limit, 2.0 * h->ramp_s - since);
        n.cooler = running(m, mode, outdoor + 0.5 * f->outdoor_k_s * limit, cabin, s[RATIO]);
        n.fade = exp(-since / h->ramp_s);
        n.reached = 1.0 - n.fade * exp(-0.5 * limit / h->ramp_s);
    }
    double people = person_share(cabin), dogs = dog_share(cabin);
    n.bodies = f->people_w * people + f->dogs_w * dogs;
    n.bodies_slope
        = -(f->people_w * (person_share(cabin + 0.01) - people) + f->dogs_w * (dog_share(cabin + 0.01) - dogs)) / 0.01;
    if (f->vehicle > 0) {
        double start = h->vehicle_c - cabin, full = start + h->vehicle_w / h->vehicle_w_k;
        double lower = start, upper = full;
        if (start > 0.0)
            lower = -INFINITY, upper = start;
        else if (full < 0.0)
            n.pull = h->vehicle_w, lower = full, upper = INFINITY;
        else
            n.pull = -start * h->vehicle_w_k, n.pull_slope = h->vehicle_w_k;
        n.below = most(n.below, lower), n.above = least(n.above, upper);
    }
    n.other_w = f->loads_w + s[FAN] * h->fan_w;
    if (f->cooling != COOLING_OFF && s[SHED] == 0.0)
        n.other_w += h->standby_w;
    n.offered_w = f->solar_w + f->shore_w + f->alternator_a * s[BANK_V];
    if (h->bank_inside != 0.0)
        n.warm = warmth_w(b, s[SOC], n.offered_w - n.other_w - n.cooler.power_w, s[CONTENTS]) + s[BANK_WARMTH_J] / limit;
    n.through = f->ua_w_k + f->air_w_k + s[FAN] * f->fan_w_k;
    n.limit = limit;
    return n;
}

static Modes cabin_modes(const Row *f, const House *h, const double *s, const Flows *n, double outdoor, double *pull_slope,
                         double *below, double *above)
{
    double cabin = s[CABIN], exchange = h->coupling_w_k * (s[CONTENTS] - cabin);
    double gains = f->excess_w + n->bodies + f->equipment_w + f->sun_air_w;
    double into_air = n->through * (outdoor - cabin) + gains + exchange - n->cooler.sensible_w - n->pull;
    double loss = n->through + n->bodies_slope + n->cooler.sensible_per_k * n->reached + n->pull_slope;
    *below = n->below, *above = n->above, *pull_slope = n->pull_slope;
    if (*pull_slope > 0.0) {
        int falling = into_air + n->cooler.sensible_w * n->fade < 0.0;
        if ((*below > -TOUCH_K && falling) || (*above < TOUCH_K && !falling))
            loss -= *pull_slope, *pull_slope = 0.0;
        *below = least(*below, -TOUCH_K), *above = most(*above, TOUCH_K);
    }
    return modes(h, loss, into_air, f->sun_contents_w + n->warm - exchange, n->through * f->outdoor_k_s,
                 n->cooler.sensible_w * n->fade);
}

static double moisture(const Row *f, const House *h, const double *s, const Flows *n, double air_ks, double span,
                       double *area, double *condensed)
{
    double bodies_j = n->bodies * span - n->bodies_slope * air_ks;
    double vapour = ((f->people_w + f->dogs_w) * span - bodies_j) / LATENT_J_KG;
    double flow = f->air_kg_s + s[FAN] * f->fan_kg_s, wet = n->cooler.water_per_ratio * n->reached;
    double warmth = n->cooler.water_per_k * n->reached * air_ks / span, value = -(flow + wet) / h->moisture_kg;
    double p = (vapour / span + flow * (f->outdoor_ratio - s[RATIO]) - n->cooler.water_kg_s - warmth) / h->moisture_kg;
    double one, two, three, missing = 0.0;
    phi(value * span, &one, &two, &three);
    double rise = p * span * one;
    *area = p * span * span * two;
    if (n->cooler.water_kg_s > 0.0) {
        double gone = exp(-span / h->ramp_s);
        double g = n->cooler.water_kg_s * n->fade / h->moisture_kg, against = value + 1.0 / h->ramp_s;
        rise += g * (1.0 + value * span * one - gone) / against;
        *area += g * (span * one - h->ramp_s * (1.0 - gone)) / against;
        missing = n->cooler.water_kg_s * n->fade * h->ramp_s * (1.0 - gone);
    }
    *condensed = (n->cooler.water_kg_s + warmth) * span - missing + wet * *area;
    return rise;
}

static double time_above(double first, double last, double span)
{
    if (first <= 0.0 && last <= 0.0)
        return 0.0;
    if (first > 0.0 && last > 0.0)
        return span;
    return span * most(first, last) / fabs(last - first);
}

static void book_heat(const Row *f, const House *h, double *s, double *o, const Flows *n, int mode, double outdoor,
                      double span, double cabin, double air_ks, double pull_slope)
{
    double cabin_ks = cabin * span + air_ks;
    double difference = outdoor * span + 0.5 * f->outdoor_k_s * span * span - cabin_ks;
    double bodies_j = n->bodies * span - n->bodies_slope * air_ks;
    o[CABIN_KS] += cabin_ks;
    o[ENVELOPE_J] += f->ua_w_k * difference + f->excess_w * span;
    o[AIR_J] += (f->air_w_k + s[FAN] * f->fan_w_k) * difference;
    o[PEOPLE_J] += bodies_j;
    o[VEHICLE_J] += n->pull * span + pull_slope * air_ks;
    o[BANK_WARM_J] += n->warm * span;
    if (s[ON] > 0.0) {
        double missing = h->ramp_s * n->fade * (1.0 - exp(-span / h->ramp_s));
        double steady = n->cooler.sensible_w * span + n->cooler.sensible_per_k * n->reached * air_ks;
        o[STEADY_J] += steady;
        o[SENSIBLE_J] += steady - n->cooler.sensible_w * missing;
        o[ON_S] += span;
        o[SUPPLY_KS] += n->cooler.supply_c * span;
        if (mode == BOOST)
            o[BOOST_S] += span;
    }
    double area, condensed, rise = moisture(f, h, s, n, air_ks, span, &area, &condensed);
    o[VAPOUR_KG] += ((f->people_w + f->dogs_w) * span - bodies_j) / LATENT_J_KG;
    o[AIR_KG] += (f->air_kg_s + s[FAN] * f->fan_kg_s) * ((f->outdoor_ratio - s[RATIO]) * span - area);
    o[WATER_KG] += condensed;
    o[RATIO_S] += s[RATIO] * span + area;
    s[RATIO] += rise;
    double full = saturation_ratio(s[CABIN], h->pressure_pa);
    if (s[RATIO] > full) {
        o[WALL_KG] += (s[RATIO] - full) * h->moisture_kg;
        s[RATIO] = full;
    }
    o[FAN_S] += s[FAN] * span;
    if (s[SHED] > 0.0)
        o[SHED_S] += span;
    o[OVER_S] += time_above(cabin - h->limit_c, s[CABIN] - h->limit_c, span);
    o[CABIN_MAX] = most(o[CABIN_MAX], s[CABIN]);
}

static void book_power(const Row *f, const double *s, double *o, double other_w, double cooler_w, double bank_j, double span)
{
    double needed = (other_w + cooler_w) * span + bank_j;
    double sun = least(f->solar_w * span, most(needed, 0.0)), shore = least(f->shore_w * span, most(needed - sun, 0.0));
    double engine = least(f->alternator_a * s[BANK_V] * span, most(needed - sun - shore, 0.0));
    o[SOLAR_J] += sun, o[SHORE_J] += shore, o[ALTERNATOR_J] += engine;
    o[UNSERVED_J] += most(needed - sun - shore - engine, 0.0);
    o[LOADS_J] += other_w * span, o[COOLER_J] += cooler_w * span;
}

static double one_piece(const Row *f, const House *h, const Map *m, const Bank *b, double *s, double *o, int mode,
                        double outdoor, double limit, int *shed)
{
    Flows n = flows_now(f, h, m, b, s, mode, outdoor, limit);
    double pull_slope, below, above, power = 0.0, net = 0.0;
    Modes x = cabin_modes(f, h, s, &n, outdoor, &pull_slope, &below, &above);
    double span = most(first_crossing(&x, below, above, n.limit, 0.0, s[ON] > 0.0 ? 1e-3 : 1e-6), LEAST_S);
    if (s[ON] > 0.0) {
        double area, unused;
        moisture(f, h, s, &n, advance(&x, span).air_ks, span, &area, &unused);
        n.cooler.sensible_w += n.cooler.sensible_per_ratio * (area / span);
        n.cooler.power_w += n.cooler.power_per_ratio * (area / span);
        n.reached = 1.0 - n.fade * mean_fade(&x, span);
        x = cabin_modes(f, h, s, &n, outdoor, &pull_slope, &below, &above);
        span = most(first_crossing(&x, below, above, n.limit, span, 1e-6), LEAST_S);
    }
    double bank_c = h->bank_inside != 0.0 ? s[CONTENTS] : outdoor;
    Moved d = advance(&x, span);
    Step k = { 0 };
    *shed = 0;
    for (int attempt = 0; attempt < 3; attempt++) {
        power = n.cooler.power_w + n.cooler.power_per_k * d.air_ks / span;
        net = n.offered_w - n.other_w - power;
        if (net >= 0.0) {
            k = charge(b, s[SOC], net, bank_c, span);
            break;
        }
        k = discharge(b, s[SOC], -net, bank_c, span);
        k.joules = -k.joules;
        if (f->cooling == COOLING_OFF || s[SHED] > 0.0)
            break;
        double reserve = stop_soc(b, -net, bank_c), fall = s[SOC] - k.soc;
        if (k.soc > reserve || attempt == 2)
            break;
        *shed = 1;
        span = fall > 0.0 ? most(span * (s[SOC] - reserve) / fall, LEAST_S) : LEAST_S;
        d = advance(&x, span);
    }
    double cabin = s[CABIN], contents = s[CONTENTS], standby = n.other_w - f->loads_w - s[FAN] * h->fan_w;
    s[CABIN] = cabin + d.air, s[CONTENTS] = contents + d.contents;
    book_heat(f, h, s, o, &n, mode, outdoor, span, cabin, d.air_ks, pull_slope);
    o[CONTENTS_KS] += contents * span + d.contents_ks;
    book_power(f, s, o, n.other_w - standby, power + standby, k.joules, span);
    o[BANK_J] += k.joules, o[BANK_AS] += k.amps * span, o[BANK_HEAT_J] += k.heat, o[BANK_LOST_J] += k.lost;
    if (h->bank_inside != 0.0)
        s[BANK_WARMTH_J] += k.heat + (net >= 0.0 ? k.lost : 0.0) - n.warm * span;
    s[SOC] = k.soc, s[BANK_V] = k.volts;
    s[SINCE_SWITCH] += span, s[SINCE_START] += span;
    return span;
}

/* --- the march ---------------------------------------------------------------------------------------------------- */

static void end_row(const double *s, double *o)
{
    o[END_CABIN] = s[CABIN], o[END_CONTENTS] = s[CONTENTS], o[END_RATIO] = s[RATIO], o[END_SOC] = s[SOC];
    o[END_V] = s[BANK_V];
}

/* `rows`: forcing, one Row a piece; `curve` (4, breaks) and `climate` (4, temps) of the bank; `s` is changed in place,
 * `out` (n, N_OUT) filled. Returns the number of stretches between two readings, for the time that one takes. */
int64_t march(const Row *rows, int64_t n, const House *h, const Map *m, const BankNumbers *numbers, const double *curve,
              int64_t breaks, const double *climate, int64_t temps, double *s, double *out, int stop_when_shed)
{
    Bank b = { *numbers, curve, curve + breaks, curve + 2 * breaks, curve + 3 * breaks, climate, climate + temps,
               climate + 2 * temps, climate + 3 * temps, (int)breaks, (int)temps };
    int64_t stretches = 0;
    for (int64_t i = 0; i < n; i++) {
        const Row *f = rows + i;
        double t = f->start_s, *o = out + i * N_OUT;
        o[CABIN_MAX] = s[CABIN];
        while (t < f->end_s - 1e-9) {
            double outdoor = f->outdoor_c + f->outdoor_k_s * (t - f->start_s);
            int mode, shed;
            if (s[SHED] > 0.0 && s[SOC] >= s[SHED_SOC] + b.n.reconnect_soc)
                s[SHED] = 0.0;
            o[STARTS] += decide(f, h, s, outdoor, &mode);
            double limit = least(f->end_s - t, READ_EVERY_S);
            t += one_piece(f, h, m, &b, s, o, mode, outdoor, limit, &shed);
            stretches++;
            if (shed) {
                s[SHED] = 1.0, s[SHED_SOC] = s[SOC];
                if (stop_when_shed) {
                    end_row(s, o);
                    return stretches;
                }
            }
        }
        end_row(s, o);
    }
    return stretches;
}
