//! The value at which a margin passes 0, between one where it is kept and one where it is not.

use super::Untried;
use super::curve::{Curve, Level};

/// More steps than any bracket of doubles takes.
const MOST_STEPS: u32 = 200;

/// Follows the bracket (where it is not kept, where it is) until it is the part `within` of the value; gives its kept end.
///
/// # Errors
/// If the study ended, or a value between the two is refused.
pub fn root(curve: &mut Curve<'_>, level: Level, (mut bad, mut good): (f64, f64), within: f64) -> Result<f64, Untried> {
    let (mut below, mut above) = (curve.margin(bad, level)?, curve.margin(good, level)?);
    // The margin at an end that has stayed is halved, so that it moves the next time (Illinois).
    let mut stayed = 0_i32;
    let mut before = f64::INFINITY;
    for step in 0..MOST_STEPS {
        let width = (good - bad).abs();
        if width <= within * bad.abs().max(good.abs()) || above == 0.0 {
            break;
        }
        let slow = step % 3 == 2 && width > 0.25 * before;
        if step % 3 == 0 {
            before = width;
        }
        let part = if below.is_finite() && above.is_finite() && !slow {
            // Not into the very ends, where a step gains nothing.
            (-below / (above - below)).clamp(0.02, 0.98)
        } else {
            0.5
        };
        let middle = bad + part * (good - bad);
        if middle == bad || middle == good {
            break;
        }
        let margin = curve.margin(middle, level)?;
        if margin >= 0.0 {
            (good, above) = (middle, margin);
            if stayed > 0 {
                below *= 0.5;
            }
            stayed = stayed.max(0) + 1;
        } else {
            (bad, below) = (middle, margin);
            if stayed < 0 {
                above *= 0.5;
            }
            stayed = stayed.min(0) - 1;
        }
    }
    Ok(good)
}
