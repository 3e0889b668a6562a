//! What a canister lets pass while its inlet moves, without steps in time.
//!
//! ```text
//! ds/dt = F (1 - X(s))      X(s) = e^(-N (1 - s))      F = (1 - b) Q p / (R T capacity)      A(t) = integral F dt
//! X(t) = 1 / (1 + (e^(N (1 - s0)) - 1) e^(-N A(t)))
//! ```
//!
//! `s` part of the capacity that is held, `s0` at the start; `X` what passes of what meets the bed; `N` sharpness; `b` part of the flow that
//! misses the bed; `Q` actual flow at the inlet, m3/s; `p` partial pressure there, Pa; `T` its temperature, K; `A` what has met the bed, in
//! capacities.
//!
//! It is the law of `sim::removal::sorbent` integrated: the variables part, and the inlet's course enters by `A` alone. At a constant
//! inlet `N A = K t`, and from a fresh bed it is Bohart and Adams' `e^(K t) / (e^(K t) + e^N - 1)` (the sources there). `A` is summed
//! by trapezoids between samples of the inlet: that is all that is approximate.

/// What passes, by how many capacities have met the bed.
#[must_use]
pub fn passes(sharpness: f64, held_at_start: f64, met: f64) -> f64 {
    let (fresh, spent) = (sharpness * (1.0 - held_at_start), sharpness * met);
    // (e^a - 1) e^-b without overflow of e^a.
    let log = if fresh > 30.0 {
        fresh + libm::log1p(-libm::exp(-fresh)) - spent
    } else {
        let before = libm::expm1(fresh);
        if before <= 0.0 {
            return 1.0;
        }
        libm::log(before) - spent
    };
    if log > 700.0 { 0.0 } else { 1.0 / (1.0 + libm::exp(log)) }
}

/// The running integral of a series by trapezoids.
#[must_use]
pub fn running(time_s: &[f64], rate: &[f64]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut list = Vec::with_capacity(time_s.len());
    for row in 0..time_s.len() {
        if row > 0 {
            sum += 0.5 * (rate[row] + rate[row - 1]) * (time_s[row] - time_s[row - 1]);
        }
        list.push(sum);
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use breathroom_sim::removal::sorbent;

    /// Closed form of Bohart and Adams, K 0.02 1/min, N 8: the area of 1 - X is N / K.
    #[test]
    fn at_a_constant_inlet_it_is_bohart_and_adams() {
        let (k, n) = (0.02, 8.0);
        let closed = |t: f64| libm::exp(k * t) / (libm::exp(k * t) + libm::exp(n) - 1.0);
        let ours = |t: f64| passes(n, 0.0, k * t / n);
        let mut area = 0.0;
        let h = 0.01;
        for i in 0..200_000 {
            let t = h * f64::from(i);
            assert!((ours(t) - closed(t)).abs() < 1e-12, "{t}");
            area += h * (1.0 - 0.5 * (ours(t) + ours(t + h)));
        }
        assert!((area - 400.0).abs() < 1e-3, "{area}");
        let time_of = |x: f64| {
            let (mut lo, mut hi) = (0.0, 2000.0);
            for _ in 0..200 {
                let mid = 0.5 * (lo + hi);
                if ours(mid) < x { lo = mid } else { hi = mid }
            }
            lo
        };
        for (x, wanted) in [(0.5, 399.983), (0.05, 252.761), (0.95, 547.205)] {
            assert!((time_of(x) - wanted).abs() < 6e-4, "{x}: {}", time_of(x));
        }
    }

    /// The engine's law of loading, in small steps of Runge and Kutta under an inlet that moves.
    #[test]
    fn under_a_moving_inlet_it_is_the_law_of_loading() {
        let flux = |t: f64| 0.004 * (1.0 + 0.8 * libm::sin(0.03 * t));
        let (n, start) = (12.0, 0.15);
        let law = |t: f64, s: f64| flux(t) * sorbent::takes(n, s);
        let (mut s, h) = (start, 0.05);
        let mut times = vec![0.0];
        let mut fluxes = vec![flux(0.0)];
        for i in 0..8000 {
            let t = h * f64::from(i);
            let k1 = law(t, s);
            let k2 = law(t + h / 2.0, s + h / 2.0 * k1);
            let k3 = law(t + h / 2.0, s + h / 2.0 * k2);
            let k4 = law(t + h, s + h * k3);
            s += h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
            times.push(t + h);
            fluxes.push(flux(t + h));
            if i % 500 == 0 {
                let met = *running(&times, &fluxes).last().expect("a value");
                assert!((passes(n, start, met) - sorbent::passes(n, s)).abs() < 1e-6, "{t}");
            }
        }
    }

    #[test]
    fn the_ends_hold() {
        assert_eq!(passes(1000.0, 0.0, 0.0), 0.0);
        assert_eq!(passes(1000.0, 0.0, 3.0), 1.0);
        assert_eq!(passes(8.0, 1.0, 0.0), 1.0);
        assert!((passes(8.0, 0.0, 0.0) - libm::exp(-8.0)).abs() < 1e-15);
    }
}
