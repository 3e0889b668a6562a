//! A device known by its measured rates: removal against inlet partial pressure.
//!
//! ```text
//! r = f (line between the given points, from the origin, constant past the last)
//! ```
//!
//! `r` mol/s, `p` inlet partial pressure (Pa), `f` factor of the device's turn.
//!
//! Source: linear interpolation of a bench's table. Valid between its points; below the first it goes to the origin, past the
//! last it stays, which claims no more than was measured. Left out: what the rate depends on besides (flow, loading, humidity).

use super::Line;

/// How many pieces a curve has; none without points.
pub(super) fn pieces(points: &[(f64, f64)]) -> usize {
    if points.is_empty() { 0 } else { points.len() + 1 }
}

/// Piece `index`, in a turn of factor `factor`.
pub(super) fn line(points: &[(f64, f64)], index: usize, factor: f64) -> Line {
    let left = if index == 0 {
        (0.0, 0.0)
    } else {
        points[index.min(points.len()) - 1]
    };
    let slope = points
        .get(index)
        .map_or(0.0, |right| (right.1 - left.1) / (right.0 - left.0));
    Line {
        from_pa: left.0,
        conductance_mol_s_pa: factor * slope,
        offset_mol_s: factor * (slope * left.0 - left.1),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Removal;
    use super::super::device::alone;
    use crate::air::Species;

    #[test]
    fn a_curve_is_linear_between_its_points_and_flat_past_the_last() {
        let curve = alone(Removal::Curve {
            co2: vec![(100.0, 1e-4), (300.0, 2e-4)],
            water: vec![],
        });
        for (p, r) in [
            (0.0, 0.0),
            (50.0, 0.5e-4),
            (100.0, 1e-4),
            (200.0, 1.5e-4),
            (300.0, 2e-4),
            (900.0, 2e-4),
        ] {
            assert!((curve.rate_mol_s(Species::Co2, p, 295.0) - r).abs() < 1e-18, "{p}");
        }
        assert_eq!(curve.pieces(Species::Water), 0);
    }
}
