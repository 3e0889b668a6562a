//! The normal distribution.
//!
//! `F(x) = erfc(-z / sqrt 2) / 2`, `z = (x - mean) / sd`; inverse by Wichura's rational approximations.
//! mean, sd in the unit of the quantity; z without unit. Source: Wichura, M. J. (1988), Algorithm AS 241, Applied
//! Statistics 37, 477-484 (routine PPND16, relative accuracy about 1e-16); its coefficients from memory, shown right by the
//! tests against the distribution function and against printed quantiles. Valid for probabilities down to 1e-300.

use std::f64::consts::SQRT_2;

use super::error::SpreadError;

/// Standard deviations beyond which no draw lies (a probability of 1e-350 is no double).
const FARTHEST_SD: f64 = 40.0;

/// Mean and standard deviation, the latter above 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Normal {
    mean: f64,
    sd: f64,
}

impl Normal {
    pub(super) fn new(mean: f64, sd: f64) -> Result<Self, SpreadError> {
        if sd < 0.0 {
            return Err(SpreadError::NegativeDeviation);
        }
        if !(mean.abs() + FARTHEST_SD * sd).is_finite() {
            return Err(SpreadError::NotFinite);
        }
        Ok(Self { mean, sd })
    }

    pub(super) fn point(&self) -> Option<f64> {
        (self.sd == 0.0).then_some(self.mean)
    }

    pub(super) fn support(&self) -> (f64, f64) {
        (f64::NEG_INFINITY, f64::INFINITY)
    }

    pub(super) fn lower(&self, x: f64) -> f64 {
        standard_lower((x - self.mean) / self.sd)
    }

    pub(super) fn upper(&self, x: f64) -> f64 {
        standard_lower((self.mean - x) / self.sd)
    }

    pub(super) fn at_lower(&self, p: f64) -> f64 {
        self.mean + self.sd * standard_quantile(p)
    }

    pub(super) fn at_upper(&self, q: f64) -> f64 {
        self.mean - self.sd * standard_quantile(q)
    }
}

/// The probability below `z` standard deviations over the mean of a normal distribution.
#[must_use]
pub fn standard_lower(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// A polynomial by Horner's rule, constant first.
fn polynomial(c: &[f64; 8], x: f64) -> f64 {
    let mut sum = c[7];
    for i in (0..7).rev() {
        sum = sum * x + c[i];
    }
    sum
}

/// Numerator and denominator near the middle, in 0.180625 - (p - 1/2)^2.
#[expect(clippy::excessive_precision, reason = "digits as published")]
const MIDDLE: [[f64; 8]; 2] = [
    [
        3.387_132_872_796_366_608,
        1.331_416_678_917_843_774_5e2,
        1.971_590_950_306_551_442_7e3,
        1.373_169_376_550_946_112_5e4,
        4.592_195_393_154_987_145_7e4,
        6.726_577_092_700_870_085_3e4,
        3.343_057_558_358_812_810_5e4,
        2.509_080_928_730_122_672_7e3,
    ],
    [
        1.0,
        4.231_333_070_160_091_125_2e1,
        6.871_870_074_920_579_083e2,
        5.394_196_021_424_751_107_7e3,
        2.121_379_430_158_659_586_7e4,
        3.930_789_580_009_271_061e4,
        2.872_908_573_572_194_267_4e4,
        5.226_495_278_852_854_561e3,
    ],
];
/// In sqrt(-ln p) - 1.6, for p above 1.4e-11.
#[expect(clippy::excessive_precision, reason = "digits as published")]
const TAIL: [[f64; 8]; 2] = [
    [
        1.423_437_110_749_683_577_34,
        4.630_337_846_156_545_295_9,
        5.769_497_221_460_691_405_5,
        3.647_848_324_763_204_605_04,
        1.270_458_252_452_368_382_58,
        2.417_807_251_774_506_117_7e-1,
        2.272_384_498_926_918_458_33e-2,
        7.745_450_142_783_414_076_4e-4,
    ],
    [
        1.0,
        2.053_191_626_637_758_821_87,
        1.676_384_830_183_803_849_4,
        6.897_673_349_851_000_045_5e-1,
        1.481_039_764_274_800_745_9e-1,
        1.519_866_656_361_645_719_66e-2,
        5.475_938_084_995_344_946e-4,
        1.050_750_071_644_416_843_24e-9,
    ],
];
/// In sqrt(-ln p) - 5, beyond.
#[expect(clippy::excessive_precision, reason = "digits as published")]
const FAR: [[f64; 8]; 2] = [
    [
        6.657_904_643_501_103_777_2,
        5.463_784_911_164_114_369_9,
        1.784_826_539_917_291_335_8,
        2.965_605_718_285_048_912_3e-1,
        2.653_218_952_657_612_309_3e-2,
        1.242_660_947_388_078_438_6e-3,
        2.711_555_568_743_487_578_15e-5,
        2.010_334_399_292_288_132_65e-7,
    ],
    [
        1.0,
        5.998_322_065_558_879_376_9e-1,
        1.369_298_809_227_358_053_1e-1,
        1.487_536_129_085_061_485_25e-2,
        7.868_691_311_456_132_591e-4,
        1.846_318_317_510_054_681_8e-5,
        1.421_511_758_316_445_888_7e-7,
        2.044_263_103_389_939_785_64e-15,
    ],
];

/// The z below which the probability of a standard normal distribution is `p`, in (0, 1).
#[must_use]
pub fn standard_quantile(p: f64) -> f64 {
    let middle = p - 0.5;
    if middle.abs() <= 0.425 {
        let r = 0.180_625 - middle * middle;
        return middle * polynomial(&MIDDLE[0], r) / polynomial(&MIDDLE[1], r);
    }
    let tail = if middle < 0.0 { p } else { 1.0 - p };
    let r = libm::sqrt(-libm::log(tail));
    let (of, shift) = if r <= 5.0 { (&TAIL, 1.6) } else { (&FAR, 5.0) };
    let z = polynomial(&of[0], r - shift) / polynomial(&of[1], r - shift);
    if middle < 0.0 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_as_printed() {
        for (p, z, tolerance) in [
            // Wichura (1988), test values of PPND16.
            (0.25, -0.674_489_750_196_081_7, 1e-15),
            (0.001, -3.090_232_306_167_814, 1e-15),
            (1e-20, -9.262_340_089_798_408, 1e-15),
            // Abramowitz and Stegun (1964), tables 26.1 and 26.5 (values from memory).
            (0.975, 1.959_963_98, 1e-8),
            (0.841_344_746_068_543, 1.0, 1e-13),
            (0.977_249_868_051_821, 2.0, 1e-13),
            (0.998_650_101_968_370, 3.0, 1e-11),
        ] {
            let error = (standard_quantile(p) - z).abs() / z.abs();
            assert!(error < tolerance, "{p}: {} against {z}", standard_quantile(p));
        }
        assert_eq!(standard_quantile(0.5), 0.0);
    }

    #[test]
    fn the_inverse_meets_the_distribution_function() {
        for step in 1..30_000 {
            // From 1e-300 to a half, evenly in the logarithm.
            let p = 0.5 * libm::pow(10.0, -f64::from(step) * 0.01);
            let z = standard_quantile(p);
            // A relative error e of z changes p by z^2 e; 1e-15 in z is what the algorithm promises.
            let tolerance = 1e-15 * (3.0 + z * z);
            assert!(
                (standard_lower(z) / p - 1.0).abs() < tolerance,
                "{p}: {}",
                standard_lower(z) / p - 1.0
            );
        }
    }

    #[test]
    fn both_sides_mirror() {
        let normal = Normal::new(20.0, 2.0).unwrap();
        for p in [1e-12, 1e-3, 0.3, 0.5] {
            assert!((normal.at_lower(p) + normal.at_upper(p) - 40.0).abs() < 1e-14);
        }
        assert_eq!(normal.lower(20.0), 0.5);
        assert!((normal.upper(26.0) - 1.349_898_031_630_095e-3).abs() < 1e-17); // A&S table 26.1, x = 3
    }
}
