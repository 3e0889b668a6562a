//! `efforts.X.measured`: a series of a person's heart rate, oxygen uptake or power that drives their load.

use std::sync::Arc;

use crate::crew::{HEART_RATE_ACCURACY, RESTING_PER_MIN, UPTAKE_ACCURACY};
use crate::scenario::Input;
use crate::scenario::blueprint::{HeartNums, MeasuredNums, SeriesKind};
use crate::scenario::data::{self, Series};
use crate::scenario::fields::Fields;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::spread::{Shape, Spread};
use crate::units::Dimension;

/// Most steps of a series: more would cost more than they tell.
const MOST_STEPS: usize = 10_000;
/// A gap is filled with what was measured before it; one longer than this deserves a look, s.
const LONG_GAP_S: f64 = 300.0;
/// The four keys of a person's own line.
const LINE: [&str; 4] = ["easy_rate", "easy_power", "hard_rate", "hard_power"];

/// Reads the table; none if there is none, or after a fault.
pub(super) fn measured(r: &mut Reader<'_>, effort: &Fields<'_>) -> Option<MeasuredNums> {
    let fields = effort.sub(r, "measured")?;
    let file = fields.entry("data").cloned();
    if file.is_none() {
        fields.missing(r, "data");
    }
    let column = fields.text(r, "column").map(str::to_owned);
    if column.is_none() && fields.entry("column").is_none() {
        fields.missing(r, "column");
    }
    let time = fields.text(r, "time").unwrap_or("time").to_owned();
    let step_s = fixed(fields.number(r, "step"), 60.0);
    let given: Vec<&str> = LINE.into_iter().filter(|key| fields.entry(key).is_some()).collect();
    let line: Vec<Option<Num>> = LINE.iter().map(|key| fields.number_if(r, key)).collect();
    let resting = fields.number_if(r, "resting_rate");
    let accuracy = fields.number_if(r, "accuracy").map(|num| fixed(num, f64::NAN));
    let series = data::series(r, &file?.node, (&time, &column?), &fields.spot_of("column"))?;
    let kind = series.kind;
    let heart = kind == SeriesKind::HeartRate;
    if !given.is_empty() && given.len() < LINE.len() {
        let message = format!("a line takes two points, and only {} is there", listed(&given));
        r.texts.fault(
            &fields.spot_of(given[0]),
            message,
            format!("give all of {}", listed(&LINE)),
        );
        return None;
    }
    for key in given
        .iter()
        .copied()
        .chain(resting.map(|_| "resting_rate"))
        .filter(|_| !heart)
    {
        r.texts.fault(
            &fields.spot_of(key),
            format!("`{key}` goes with a heart rate"),
            "remove it: this column is no heart rate",
        );
    }
    let of = match line.as_slice() {
        [Some(easy_rate), Some(easy_power), Some(hard_rate), Some(hard_power)] => {
            if resting.is_some() {
                r.texts.fault(
                    &fields.spot_of("resting_rate"),
                    "`resting_rate` beside a line of one's own",
                    "the line says it all: remove one of the two",
                );
            }
            Some(HeartNums::Line([*easy_rate, *easy_power, *hard_rate, *hard_power]))
        }
        _ if heart => Some(HeartNums::Iso8996(
            resting.unwrap_or(Num::Fixed(RESTING_PER_MIN / 60.0)),
        )),
        _ => None,
    };
    if let Some(HeartNums::Line([Num::Fixed(easy), _, Num::Fixed(hard), _])) = of
        && hard <= easy
    {
        r.texts.fault(
            &fields.spot_of("hard_rate"),
            "the hard point of the line has no higher heart rate than the easy one",
            "the harder effort second",
        );
        return None;
    }
    assumed(
        r,
        &fields,
        heart,
        kind,
        resting.is_some() || of.as_ref().is_some_and(|of| matches!(of, HeartNums::Line(_))),
        accuracy.is_some(),
    );
    let accuracy = accuracy.unwrap_or(match kind {
        SeriesKind::HeartRate => HEART_RATE_ACCURACY,
        SeriesKind::Uptake | SeriesKind::UptakeForMass => UPTAKE_ACCURACY,
        SeriesKind::Power => 0.0,
    });
    let steps = steps(r, &fields, &series, step_s)?;
    Some(MeasuredNums {
        steps: Arc::new(steps),
        kind,
        heart: of,
        factor: factor(r, &fields, accuracy),
    })
}

fn fixed(num: Num, otherwise: f64) -> f64 {
    match num {
        Num::Fixed(value) => value,
        Num::Input { .. } => otherwise,
    }
}

fn listed(keys: &[&str]) -> String {
    keys.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ")
}

/// What a measured load rests on besides the data, for `check`.
fn assumed(
    r: &mut Reader<'_>,
    fields: &Fields<'_>,
    heart: bool,
    kind: SeriesKind,
    rest_given: bool,
    accuracy_given: bool,
) {
    let source = "ISO 8996:2004";
    if heart && !rest_given {
        r.assume(
            fields.path_of("resting_rate"),
            "70 1/min",
            "1.16667 1/s".to_owned(),
            "ISO 8996:2004, annex C",
            true,
        );
    }
    if !accuracy_given && kind != SeriesKind::Power {
        let (written, si) = if heart { ("10 %", "0.1") } else { ("5 %", "0.05") };
        r.assume(fields.path_of("accuracy"), written, si.to_owned(), source, true);
    }
}

/// The factor of all powers of the series: its accuracy is taken as two standard deviations (assumption: a coverage of 95 %).
fn factor(r: &mut Reader<'_>, fields: &Fields<'_>, accuracy: f64) -> Num {
    let within = (1.0 - 2.0 * accuracy, 1.0 + 2.0 * accuracy);
    let spread = Spread::new(
        Shape::Normal {
            mean: 1.0,
            sd: 0.5 * accuracy,
        },
        Some(within),
    );
    let Ok(spread) = spread else { return Num::Fixed(1.0) };
    if spread.is_point() {
        return Num::Fixed(1.0);
    }
    let input = r.inputs.len();
    r.inputs.push(Input {
        path: fields.path_of("factor"),
        unit: Dimension::Number.si_unit(),
        spread,
        per_turn: false,
        unsure: None,
    });
    Num::Input {
        input,
        lo: 0.0,
        hi: 10.0,
    }
}

/// Means over steps: each value holds until the next, the last for as long as the one before.
fn steps(r: &mut Reader<'_>, fields: &Fields<'_>, series: &Series, step_s: f64) -> Option<Vec<(f64, f64)>> {
    let (times, values) = (&series.time_s, &series.values);
    let n = times.len();
    let last = if n > 1 { times[n - 1] - times[n - 2] } else { step_s };
    let end = times[n - 1] - times[0] + last;
    let count = libm::ceil(end / step_s - 1e-9).max(1.0);
    if count > MOST_STEPS as f64 {
        let message = format!("{count:.0} steps, and at most {MOST_STEPS} are taken");
        r.texts
            .fault(&fields.spot_of("step"), message, "a longer `step`, or a shorter series");
        return None;
    }
    let gap = (1..n).map(|row| times[row] - times[row - 1]).fold(0.0, f64::max);
    if gap > LONG_GAP_S.max(3.0 * step_s) {
        let message = format!(
            "a gap of {:.0} min in the series is filled with the value before it",
            gap / 60.0
        );
        r.texts.warn(&fields.spot_of("data"), message, "is that what went on?");
    }
    let mut steps = Vec::with_capacity(count as usize);
    let mut row = 0;
    for step in 0..count as usize {
        let from = step as f64 * step_s;
        let to = ((step + 1) as f64 * step_s).min(end);
        let (mut at, mut sum) = (from, 0.0);
        while at < to {
            while row + 1 < n && times[row + 1] - times[0] <= at {
                row += 1;
            }
            let next = if row + 1 < n {
                (times[row + 1] - times[0]).min(to)
            } else {
                to
            };
            sum += values[row] * (next - at);
            at = next;
        }
        steps.push((to - from, sum / (to - from)));
    }
    Some(steps)
}
