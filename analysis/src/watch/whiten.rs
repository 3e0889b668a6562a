//! Residuals made white: what an autoregression fitted on nominal runs does not foresee.
//!
//! ```text
//! x = (reading - reference - m) / s          e(t) = x(t) - sum_j a_j x(t - j d)          z = L^-1 (e / sd(e))
//! ```
//!
//! `m`, `s` mean and deviation of the residual over all nominal runs and times; `a` of the order, up to [`MOST`], with the least
//! Akaike criterion `N ln v + 2 p`; `d` rows from reading to reading; `v` variance of `e`; `L` lower factor of the correlation of `e` between
//! instruments, so that `z` have neither. No units.
//!
//! Source: Yule-Walker equations of the pooled autocovariances, solved by Levinson and Durbin (1960); H. Akaike, IEEE Trans. Autom.
//! Control 19 (1974) 716 (all from memory). Valid where residuals of nominal runs are stationary: those of a day with tasks are only roughly so.
//! An instrument without a reading at a row counts as having read what was expected when others are freed of what they share with it. Left
//! out: what instruments share at different times; moving averages.

/// Highest order.
pub const MOST: usize = 8;

/// Residuals of a run: instrument by instrument, row by row; not a number where there is no reading.
pub type Rows = Vec<Vec<f64>>;

/// What makes residuals white.
#[derive(Clone, Debug, PartialEq)]
pub struct Whitener {
    /// Mean residual of each instrument, SI.
    pub mean: Vec<f64>,
    /// Standard deviation of each instrument's residual, SI.
    pub deviation: Vec<f64>,
    /// Autoregression of each instrument.
    pub order: Vec<Vec<f64>>,
    /// Standard deviation of what it does not foresee, in those of the residual.
    pub innovation: Vec<f64>,
    stride: Vec<usize>,
    /// Rows of the lower factor.
    lower: Vec<Vec<f64>>,
}

impl Whitener {
    /// Fitted on the residuals of nominal runs; `floor` is the least deviation of each instrument, SI.
    #[must_use]
    pub fn fit(runs: &[Rows], stride: &[usize], floor: &[f64]) -> Self {
        let instruments = stride.len();
        let mut whitener = Self {
            mean: vec![0.0; instruments],
            deviation: vec![1.0; instruments],
            order: vec![Vec::new(); instruments],
            innovation: vec![1.0; instruments],
            stride: stride.to_vec(),
            lower: (0..instruments)
                .map(|i| (0..=i).map(|j| f64::from(u8::from(i == j))).collect())
                .collect(),
        };
        for i in 0..instruments {
            let all = || runs.iter().flat_map(|run| &run[i]).copied().filter(|x| x.is_finite());
            let n = all().count().max(1) as f64;
            let mean = all().sum::<f64>() / n;
            let square = all().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n;
            whitener.mean[i] = mean;
            whitener.deviation[i] = square.sqrt().max(floor[i]);
        }
        let standard: Vec<Rows> = runs.iter().map(|run| whitener.standard(run)).collect();
        for i in 0..instruments {
            let series: Vec<&[f64]> = standard.iter().map(|run| run[i].as_slice()).collect();
            whitener.order[i] = autoregression(&series, stride[i]);
        }
        let mut foreseen: Vec<Rows> = standard.iter().map(|run| whitener.unforeseen(run)).collect();
        for i in 0..instruments {
            let all = || {
                foreseen
                    .iter()
                    .flat_map(|run| &run[i])
                    .copied()
                    .filter(|e| e.is_finite())
            };
            let n = all().count().max(1) as f64;
            whitener.innovation[i] = (all().map(|e| e * e).sum::<f64>() / n).sqrt().max(1e-9);
        }
        for run in &mut foreseen {
            for (i, series) in run.iter_mut().enumerate() {
                series.iter_mut().for_each(|e| *e /= whitener.innovation[i]);
            }
        }
        if let Some(lower) = factor(&correlations(&foreseen, instruments)) {
            whitener.lower = lower;
        }
        whitener
    }

    /// Residuals in their own deviations.
    #[must_use]
    pub fn standard(&self, residuals: &[Vec<f64>]) -> Rows {
        let of =
            |(i, series): (usize, &Vec<f64>)| series.iter().map(|x| (x - self.mean[i]) / self.deviation[i]).collect();
        residuals.iter().enumerate().map(of).collect()
    }

    /// White innovations of residuals in their own deviations.
    #[must_use]
    pub fn innovations(&self, standard: &[Vec<f64>]) -> Rows {
        let mut rows = self.unforeseen(standard);
        for (i, series) in rows.iter_mut().enumerate() {
            series.iter_mut().for_each(|e| *e /= self.innovation[i]);
        }
        for row in 0..rows.first().map_or(0, Vec::len) {
            for i in 0..rows.len() {
                let known: f64 = (0..i)
                    .map(|j| rows[j][row])
                    .zip(&self.lower[i])
                    .filter(|(z, _)| z.is_finite())
                    .map(|(z, l)| z * l)
                    .sum();
                rows[i][row] = (rows[i][row] - known) / self.lower[i][i];
            }
        }
        rows
    }

    /// What a change of the residuals makes of the innovations: the same without the mean, and nothing where there is nothing.
    #[must_use]
    pub fn signature(&self, change: &[Vec<f64>]) -> Rows {
        let of = |(i, series): (usize, &Vec<f64>)| series.iter().map(|x| x / self.deviation[i]).collect();
        let standard: Rows = change.iter().enumerate().map(of).collect();
        let mut rows = self.innovations(&standard);
        for z in rows.iter_mut().flatten() {
            if !z.is_finite() {
                *z = 0.0;
            }
        }
        rows
    }

    fn unforeseen(&self, standard: &[Vec<f64>]) -> Rows {
        let of = |(i, series): (usize, &Vec<f64>)| {
            (0..series.len())
                .map(|row| unforeseen(series, &self.order[i], self.stride[i], row))
                .collect()
        };
        standard.iter().enumerate().map(of).collect()
    }
}

fn unforeseen(series: &[f64], order: &[f64], stride: usize, row: usize) -> f64 {
    let mut e = series[row];
    for (j, a) in order.iter().enumerate() {
        let back = (j + 1) * stride;
        if back > row {
            return f64::NAN;
        }
        e -= a * series[row - back];
    }
    e
}

/// The autoregression of several series together.
#[must_use]
pub fn autoregression(series: &[&[f64]], stride: usize) -> Vec<f64> {
    let mut covariance = [0.0; MOST + 1];
    let mut count = 0.0;
    for one in series {
        for row in 0..one.len() {
            if !one[row].is_finite() {
                continue;
            }
            count += 1.0;
            for (lag, sum) in covariance.iter_mut().enumerate() {
                let back = lag * stride;
                if back <= row && one[row - back].is_finite() {
                    *sum += one[row] * one[row - back];
                }
            }
        }
    }
    if covariance[0] <= 0.0 {
        return Vec::new();
    }
    let mut best: (f64, Vec<f64>) = (count * libm::log(covariance[0]), Vec::new());
    let mut now: Vec<f64> = Vec::new();
    let mut left = covariance[0];
    for p in 1..=MOST {
        let known: f64 = now.iter().enumerate().map(|(j, a)| a * covariance[p - 1 - j]).sum();
        let reflection = (covariance[p] - known) / left;
        let before = now.clone();
        for (j, a) in now.iter_mut().enumerate() {
            *a -= reflection * before[p - 2 - j];
        }
        now.push(reflection);
        left *= 1.0 - reflection * reflection;
        if left <= 0.0 || !left.is_finite() {
            break;
        }
        let criterion = count * libm::log(left) + 2.0 * p as f64;
        if criterion < best.0 {
            best = (criterion, now.clone());
        }
    }
    best.1
}

/// Correlations between instruments, at rows where both have a reading.
fn correlations(runs: &[Rows], instruments: usize) -> Vec<Vec<f64>> {
    let mut matrix = vec![vec![0.0; instruments]; instruments];
    for i in 0..instruments {
        for j in 0..=i {
            let (mut sum, mut count) = (0.0, 0.0);
            for run in runs {
                for (a, b) in run[i].iter().zip(&run[j]) {
                    let both = a * b;
                    if both.is_finite() {
                        sum += both;
                        count += 1.0;
                    }
                }
            }
            matrix[i][j] = if i == j { 1.0 } else { sum / f64::max(count, 1.0) };
        }
    }
    matrix
}

/// The lower factor of a matrix of correlations; none if it is not definite.
fn factor(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let mut lower: Vec<Vec<f64>> = Vec::new();
    for (i, row) in matrix.iter().enumerate() {
        let mut new = vec![0.0; i + 1];
        for j in 0..=i {
            let own = if i == j { &new } else { &lower[j] };
            let known: f64 = (0..j).map(|k| new[k] * own[k]).sum();
            if i == j {
                let square = row[i] - known;
                if square < 1e-6 {
                    return None;
                }
                new[i] = square.sqrt();
            } else {
                new[j] = (row[j] - known) / lower[j][j];
            }
        }
        lower.push(new);
    }
    Some(lower)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::charts::{Cusum, Ewma, run_length};
    use crate::watch::noise::Normals;

    /// An autoregression of order one with deviation one.
    fn course(run: u64, rows: usize, a: f64) -> Vec<f64> {
        let mut normals = Normals::new(11, "course", run);
        let mut x = normals.draw();
        (0..rows)
            .map(|_| {
                x = a * x + (1.0 - a * a).sqrt() * normals.draw();
                x
            })
            .collect()
    }

    fn first_alarms(courses: &[Vec<f64>], chart: &mut dyn FnMut() -> Box<dyn FnMut(f64) -> bool>) -> f64 {
        // Rows watched over alarms raised; the chart starts anew after each.
        let (mut rows, mut alarms) = (0.0, 0.0);
        for course in courses {
            let mut step = chart();
            for &z in course {
                rows += 1.0;
                if step(z) {
                    alarms += 1.0;
                    step = chart();
                }
            }
        }
        rows / f64::max(alarms, 1.0)
    }

    /// White noise flatters the tables: with residuals whose neighbours correlate by 0.9 the interval that has one false alarm in 465
    /// readings has one in a few dozen; made white they have it again.
    #[test]
    fn correlated_residuals_raise_false_alarms_and_whitening_brings_them_back() {
        let courses: Vec<Vec<f64>> = (0..60).map(|run| course(run, 5_000, 0.9)).collect();
        let fitted = Whitener::fit(
            &courses[..30]
                .iter()
                .map(|course| vec![course.clone()])
                .collect::<Vec<_>>(),
            &[1],
            &[1e-9],
        );
        assert!((fitted.order[0][0] - 0.9).abs() < 0.02, "{:?}", fitted.order);
        let white: Vec<Vec<f64>> = courses[30..]
            .iter()
            .map(|course| {
                fitted
                    .innovations(&fitted.standard(std::slice::from_ref(course)))
                    .remove(0)
            })
            .collect();
        let mut cusum = || -> Box<dyn FnMut(f64) -> bool> {
            let mut chart = Cusum::new(0.5);
            Box::new(move |z| chart.step(z) > 5.0)
        };
        let mut ewma = || -> Box<dyn FnMut(f64) -> bool> {
            let mut chart = Ewma::new(0.1);
            Box::new(move |z| chart.step(z) > 2.814)
        };
        let table = [run_length::cusum(0.5, 5.0, 0.0), run_length::ewma(0.1, 2.814, 0.0)];
        let raw = [
            first_alarms(&courses[30..], &mut cusum),
            first_alarms(&courses[30..], &mut ewma),
        ];
        let made = [first_alarms(&white, &mut cusum), first_alarms(&white, &mut ewma)];
        for chart in 0..2 {
            // 150,000 rows at one alarm in 480: 310 alarms, so four standard errors are 23 %.
            assert!(raw[chart] < 0.2 * table[chart], "{raw:?} {table:?}");
            assert!((made[chart] / table[chart] - 1.0).abs() < 0.23, "{made:?} {table:?}");
        }
    }

    #[test]
    fn instruments_that_share_noise_are_freed_of_it_and_gaps_stay_gaps() {
        let runs: Vec<Rows> = (0..20)
            .map(|run| {
                let (mut shared, mut own) = (Normals::new(2, "shared", run), Normals::new(2, "own", run));
                let a: Vec<f64> = (0..500).map(|_| shared.draw()).collect();
                let b = a.iter().map(|a| 3.0 + 2.0 * (0.8 * a + 0.6 * own.draw())).collect();
                vec![a, b]
            })
            .collect();
        let fitted = Whitener::fit(&runs, &[1, 1], &[1e-9; 2]);
        assert!((fitted.mean[1] - 3.0).abs() < 0.1 && (fitted.deviation[1] - 2.0).abs() < 0.1);
        let white: Vec<Rows> = runs
            .iter()
            .map(|run| fitted.innovations(&fitted.standard(run)))
            .collect();
        let left = correlations(&white, 2)[1][0];
        assert!(left.abs() < 0.03, "{left}");
        let mut gap = runs[0].clone();
        gap[0][7] = f64::NAN;
        let z = fitted.innovations(&fitted.standard(&gap));
        assert!(z[0][7].is_nan() && z[1][7].is_finite());
    }
}
