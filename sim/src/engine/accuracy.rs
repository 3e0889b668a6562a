//! How exact the numbers are, in one place: what results claim, and what follows for steps, levels and records.

/// Relative error that a step of the correction may seem to make where it ends in a partial pressure. Results claim 1e-6; but a run that
/// is split where nothing changes, so that its steps lie elsewhere, must come to the same end within 1e-9, and errors of successive
/// steps add up.
pub(crate) const RELATIVE_ERROR: f64 = 5e-11;
/// Absolute error, Pa, likewise.
pub(crate) const ABSOLUTE_ERROR_PA: f64 = 5e-9;
/// So many times as much is allowed along the step, where it is gone again by the end.
pub(crate) const CORRECTION_ALONG: f64 = 40.0;
/// Values nearer to a level than this fraction of it are on it: what rounding leaves of 1e-16 after a segment's sums.
pub(crate) const ON_LEVEL: f64 = 1e-13;
/// A value nearer to a limit than this fraction of it is on the limit, and meets it: what a hold keeps at its set point, or a
/// room at its start, is not beyond a limit of the same value by a rounding.
pub(crate) const ON_LIMIT: f64 = 1e-9;
/// A value that beats another by less than this fraction of it does not beat it: results claim 1e-6.
pub(crate) const RESOLVED: f64 = 1e-7;

/// Relative error that a step of what is integrated whole may seem to make where it ends. Two or three of them add up to what a run
/// that is split where nothing changes may differ by.
pub(crate) const WHOLE_RELATIVE_ERROR: f64 = 3e-10;
/// The absolute error beside it, Pa.
const WHOLE_ABSOLUTE_ERROR_PA: f64 = 3e-9;
/// So many times as much is allowed along the step, where it is gone again by the end.
pub(crate) const ALONG: f64 = 1e3;
/// And so much of it where flows may turn within steps without an event: what a kink makes of a step is not gone by its end.
pub(crate) const ALONG_KINKED: f64 = 0.3;

/// What a step of the whole state may seem to err where it ends in a partial pressure of `p_pa`, Pa.
pub(crate) fn allowed_at_end(p_pa: f64) -> f64 {
    WHOLE_RELATIVE_ERROR * p_pa + WHOLE_ABSOLUTE_ERROR_PA
}

/// The width within which a pressure of `level_pa` in a segment integrated whole is on that level, Pa. What steps err by makes no
/// crossing; what a hold lacks before it is seen to makes no figure.
pub(crate) fn band_whole(level_pa: f64) -> f64 {
    ALONG_KINKED * allowed_at_end(level_pa.abs())
}

/// What a step of the correction may seem to err along it in a partial pressure of `p_pa`, Pa.
pub(crate) fn allowed_along(p_pa: f64) -> f64 {
    CORRECTION_ALONG * allowed(p_pa)
}

/// What a step of the correction may seem to err where it ends in a partial pressure of `p_pa`, Pa.
pub(crate) fn allowed(p_pa: f64) -> f64 {
    RELATIVE_ERROR * p_pa + ABSOLUTE_ERROR_PA
}
