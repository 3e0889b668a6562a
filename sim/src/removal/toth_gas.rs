//! The gas around a bed whose isotherm is Toth's: the pressure at which flow and bed agree.
//!
//! ```text
//! L(p) = g p + m q*(p) = level        q* = a p (1 + x)^(-1/t)        x = (b p)^t        z = x / (1 + x)
//! p = x^(1/t) / b                     q* = (a/b) z^(1/t)
//! ```
//!
//! `p` Pa, `g` mol/s/Pa, `m` kg/s, `q*` mol/kg, `level` mol/s, above zero; `a`, `b`, `t` as in `isotherm`.
//!
//! `ln L` is a line in `ln p` where the flow's part of it is the larger one, and a line in `ln z` where the bed's is. So the
//! search starts at the lower of the pressures at which one part alone would be the level, so that `L` is at most twice that, and takes
//! Halley's steps, whose error falls with its third power, in the variable in which `ln L` is the straighter. Three evaluations, of four
//! transcendental functions each, are usual. If they do not settle, bisection does.

/// The gas around the bed.
pub(super) struct Around {
    /// Its partial pressure, Pa.
    pub p_pa: f64,
    /// The loading in equilibrium with it, mol/kg.
    pub q_star: f64,
    /// How that rises with pressure, mol/kg/Pa; good to the step before the last, for a choice.
    pub slope: f64,
    /// Where a search for much the same may start.
    pub near: Near,
}

/// A pressure that was looked at: `p` (0: none yet), `ln x`, `x`, `ln(1 + x)`.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Near {
    p: f64,
    xi: f64,
    x: f64,
    u: f64,
}

/// Steps after which bisection takes over.
const MOST_STEPS: usize = 12;
/// A step of ln p after which what is left, of its third power, no longer counts; nor does what a series of second order leaves out.
const LAST_STEP: f64 = 2e-5;
/// Halvings of ln p by which two bounds, at most a few hundred apart, meet in the last place.
const HALVINGS: usize = 64;

/// Solves `g p + m q*(p) = level`; all above zero.
///
/// `near`, if there is one, is where the search starts.
pub(super) fn toth_around(a: f64, ln_b: f64, t: f64, g: f64, m: f64, level: f64, near: Near) -> Around {
    let per_t = 1.0 / t;
    if near.p > 0.0 {
        return settle(a, ln_b, t, g, m, level, near);
    }
    // Where the bed's part alone would be the level.
    let zeta = t * (libm::log(level / (m * a)) + ln_b);
    let z = libm::exp(zeta);
    let (mut xi, mut x, mut u) = from_z(zeta, z); // ln x, x, ln(1 + x)
    let mut p = libm::exp(per_t * xi - ln_b);
    // Where the flow's part alone would be, if that comes first. Not a number beyond saturation.
    let first_p = level / g;
    if p.is_nan() || p > first_p {
        p = first_p;
        xi = t * (libm::log(p) + ln_b);
        x = libm::exp(xi);
        u = libm::log1p(x);
    }
    settle(a, ln_b, t, g, m, level, Near { p, xi, x, u })
}

/// Takes steps until they settle.
fn settle(a: f64, ln_b: f64, t: f64, g: f64, m: f64, level: f64, from: Near) -> Around {
    let Near {
        mut p,
        mut xi,
        mut x,
        mut u,
    } = from;
    let per_t = 1.0 / t;
    for _ in 0..MOST_STEPS {
        let q = a * p * libm::exp(-per_t * u);
        let (gas, bed) = (g * p, m * q);
        let whole = gas + bed;
        let over = (whole - level) / level;
        // ln(1 + over) to its third order, as the steps need.
        let off = over * (6.0 + over) / (6.0 + 4.0 * over);
        let v = 1.0 + x;
        let w = 1.0 / v;
        let slope = q * w / p;
        if gas > bed {
            let first = (gas + bed * w) / whole;
            let second = (gas + bed * w * w * (1.0 - t * x)) / whole - first * first;
            let d = -off * first / (first * first - 0.5 * off * second);
            if d.abs() < LAST_STEP {
                return Around {
                    p_pa: p * (1.0 + d + 0.5 * d * d),
                    q_star: q * (1.0 + w * d + 0.5 * w * w * (1.0 - t * x) * d * d),
                    slope,
                    near: Near { p, xi, x, u },
                };
            }
            xi += t * d;
            p = libm::exp(per_t * xi - ln_b);
            x = libm::exp(xi);
            u = libm::log1p(x);
        } else {
            let first = (gas * v + bed) / whole;
            let second = (gas * v * (v + t * x) + bed) / whole - first * first;
            let d = -off * first / (first * first - 0.5 * off * second);
            if d.abs() * v < LAST_STEP {
                return Around {
                    p_pa: p * (1.0 + v * d + 0.5 * v * (v + t * x) * d * d),
                    q_star: q * (1.0 + d + 0.5 * d * d),
                    slope,
                    near: Near { p, xi, x, u },
                };
            }
            let zeta = xi - u + t * d;
            (xi, x, u) = from_z(zeta, libm::exp(zeta));
            p = libm::exp(per_t * xi - ln_b);
        }
    }
    bisected(a, ln_b, t, g, m, level)
}

/// `ln x`, `x`, `ln(1 + x)` from `ln z` and `z`.
fn from_z(zeta: f64, z: f64) -> (f64, f64, f64) {
    let u = -libm::log1p(-z);
    (zeta + u, z / (1.0 - z), u)
}

/// The same by halving: slow, and certain.
#[cold]
fn bisected(a: f64, ln_b: f64, t: f64, g: f64, m: f64, level: f64) -> Around {
    // The bed's part lies between nothing and its line at the origin.
    let (mut lo, mut hi) = (libm::log(level / (g + m * a)), libm::log(level / g));
    let at = |y: f64| {
        let (p, x) = (libm::exp(y), libm::exp(t * (ln_b + y)));
        let q = a * p * libm::exp(-libm::log1p(x) / t);
        Around {
            p_pa: p,
            q_star: q,
            slope: q / (p * (1.0 + x)),
            near: Near::default(),
        }
    };
    for _ in 0..HALVINGS {
        let middle = 0.5 * (lo + hi);
        let around = at(middle);
        if g * around.p_pa + m * around.q_star < level {
            lo = middle;
        } else {
            hi = middle;
        }
    }
    at(0.5 * (lo + hi))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Powers of ten of flow and bed around each other, and levels from traces to far beyond saturation, on isotherms from nearly
    /// straight to very bent.
    #[test]
    fn steps_and_halving_agree_to_the_last_figures() {
        for t in [0.15, 0.27, 0.6, 1.0, 1.6] {
            for ratio in -8..9 {
                for power in -14..7 {
                    let (a, b) = (0.15, 0.01_f64);
                    let m = 0.05;
                    let g = m * a * 10_f64.powi(ratio) * 1e-3;
                    let level = m * a / b * 10_f64.powi(power);
                    let quick = toth_around(a, b.ln(), t, g, m, level, Near::default());
                    let slow = bisected(a, b.ln(), t, g, m, level);
                    let at = format!("t {t}, flow {ratio}, level {power}");
                    let whole = g * quick.p_pa + m * quick.q_star;
                    assert!((whole / level - 1.0).abs() < 1e-14, "{at}: {whole} for {level}");
                    // Where the whole hardly rises with pressure, its rounding moves the pressure.
                    let rises = (g + m * slow.slope) * slow.p_pa / level;
                    let allowed = 1e-13 + 3e-15 / rises;
                    assert!(
                        (quick.p_pa / slow.p_pa - 1.0).abs() < allowed,
                        "{at}: {} {}",
                        quick.p_pa,
                        slow.p_pa
                    );
                    assert!(
                        (quick.q_star / slow.q_star - 1.0).abs() < 1e-13,
                        "{at}: {} {}",
                        quick.q_star,
                        slow.q_star
                    );
                }
            }
        }
    }
}
