//! The margin of each limit as a bar: of one run its value, over variations its range.

use super::bars::{self, Row};
use super::figure::{Data, Drawn, Figure, Key};
use crate::results::numbers::{percent, with_unit};
use crate::results::standing::{Standing, bound_of, standings};
use crate::results::summary::Summary;

/// The figure. `None` if no limit ever applied.
#[must_use]
pub fn figure(summary: &Summary) -> Option<Figure> {
    let all = standings(summary);
    let all: Vec<&Standing<'_>> = all
        .iter()
        .filter(|standing| !standing.limit.margin.is_nan() || standing.limit.statistics.is_some())
        .collect();
    if all.is_empty() {
        return None;
    }
    Some(if summary.variations.is_some() {
        over_variations(&all)
    } else {
        of_one_run(&all)
    })
}

fn name(standing: &Standing<'_>) -> String {
    let others = if standing.others > 0 {
        format!(" +{}", standing.others)
    } else {
        String::new()
    };
    format!("{} \u{b7} {}{others}", standing.limit.id, standing.limit.place)
}

/// Where nought stands so that the row that needs most room to its left has it, and what of each row is 1.
fn places(ends: &[[f64; 2]]) -> (f64, Vec<f64>) {
    let left = |[low, high]: &[f64; 2]| if *low < 0.0 { -low / (high.max(0.0) - low) } else { 0.0 };
    let nought = ends.iter().map(left).fold(0.0, f64::max).clamp(0.06, 0.5);
    let scale = |[low, high]: &[f64; 2]| high.max(-low * (1.0 - nought) / nought).max(f64::MIN_POSITIVE);
    (nought, ends.iter().map(scale).collect())
}

fn of_one_run(all: &[&Standing<'_>]) -> Figure {
    let fraction = |standing: &Standing<'_>| standing.limit.margin_fraction.filter(|fraction| fraction.is_finite());
    let ends: Vec<[f64; 2]> = all
        .iter()
        .filter_map(|of| fraction(of))
        .map(|fraction| [fraction.max(-1.0), 1.0])
        .collect();
    let (nought, _) = places(&ends);
    let row = |standing: &&Standing<'_>| {
        let limit = standing.limit;
        let of = limit
            .margin_fraction
            .map_or_else(String::new, |fraction| format!(" ({})", percent(fraction)));
        Row {
            name: name(standing),
            figures: format!(
                "{}{of} to {}",
                with_unit(limit.margin, limit.unit),
                with_unit(limit.limit, limit.unit)
            ),
            beyond: limit.margin < 0.0,
            in_short: with_unit(limit.margin, limit.unit),
            solid: fraction(standing).map(|fraction| [0.0, fraction.clamp(-1.0, 1.0)]),
            scale: limit.limit.abs(),
            ..Row::default()
        }
    };
    let rows: Vec<Row> = all.iter().map(row).collect();
    let says = "How far the worst value of the run stays from each limit, as a part of the limit; the bar is cut at the whole of it. Whoever has least is \
                named, +N others have more. Temperatures and limits of nought have no part: their figure stands alone.";
    let head = ("margins", "Margin to each limit, the tightest first", says);
    bars::figure(
        head,
        &rows,
        nought,
        ["beyond", "to spare, % of the limit"],
        Vec::new(),
        data(all),
    )
}

fn over_variations(all: &[&Standing<'_>]) -> Figure {
    let quantile = |standing: &Standing<'_>, p: &str| {
        let statistics = standing.limit.statistics.as_ref();
        let found = statistics.and_then(|of| of.margin_quantiles.iter().find(|(name, _)| *name == p));
        found.map(|(_, value)| *value).filter(|value| value.is_finite())
    };
    let bound = |standing: &Standing<'_>| {
        standing
            .limit
            .statistics
            .as_ref()
            .and_then(bound_of)
            .filter(|value| value.is_finite())
    };
    let ends: Vec<[f64; 2]> = all
        .iter()
        .map(|of| {
            let known = [quantile(of, "0.05"), quantile(of, "0.95"), bound(of), Some(0.0)];
            let known = known.into_iter().flatten();
            known.fold([0.0, 0.0], |[low, high]: [f64; 2], value| {
                [low.min(value), high.max(value)]
            })
        })
        .collect();
    let (nought, scales) = places(&ends);
    let row = |(standing, &scale): (&&Standing<'_>, &f64)| {
        let limit = standing.limit;
        let (low, middle, high) = (
            quantile(standing, "0.05"),
            quantile(standing, "0.5"),
            quantile(standing, "0.95"),
        );
        let kept = bound(standing);
        let share = limit
            .statistics
            .as_ref()
            .map_or_else(String::new, |of| format!("beyond in {}", percent(of.probability)));
        let figures = match kept {
            Some(kept) => format!("keeps {}; {share}", with_unit(kept, limit.unit)),
            None => format!(
                "5 %: {}; {share}",
                low.map_or_else(|| "-".to_owned(), |low| with_unit(low, limit.unit))
            ),
        };
        let to = |value: Option<f64>| value.map(|value| value / scale);
        let solid = low.zip(high).map(|(low, high)| [low / scale, high / scale]);
        Row {
            name: name(standing),
            figures,
            beyond: !standing.met,
            in_short: kept.map_or_else(String::new, |kept| format!("keeps {}", with_unit(kept, limit.unit))),
            // What is kept, or lacks.
            soft: to(kept.or(low)).map(|part| [0.0, part]),
            solid,
            scale,
            middle: to(middle),
            bound: to(kept),
        }
    };
    let rows: Vec<Row> = all.iter().zip(&scales).map(row).collect();
    let says = "Bar: the margin's 5 to 95 % range over the variations, each row on its own scale with the limit at the line; stroke: its median; bracket and pale bar: \
                the margin that is kept at the gate (95 % of variations with 95 % confidence unless another was asked for). Whoever has least is named, +N others have more. \
                \u{25b2}: not shown to be met.";
    let keys = [
        ("5 to 95 % of the margin", "kept", Drawn::Area),
        ("the same, not shown to be met", "broken", Drawn::Area),
        ("median", "middle", Drawn::Line),
        ("kept at the gate", "bound", Drawn::Line),
    ];
    let keys = keys.map(|(name, class, drawn)| Key {
        name: name.to_owned(),
        class: class.to_owned(),
        drawn,
    });
    bars::figure(
        ("margins", "Margin to each limit, the tightest first", says),
        &rows,
        nought,
        ["beyond", "to spare"],
        keys.to_vec(),
        data(all),
    )
}

fn data(all: &[&Standing<'_>]) -> Data {
    let varied = all.iter().any(|standing| standing.limit.statistics.is_some());
    let mut headers = vec!["limit", "whose", "rule", "limit value"];
    if varied {
        headers.extend([
            "margin kept",
            "margin 5 %",
            "margin 50 %",
            "margin 95 %",
            "share beyond",
        ]);
    } else {
        headers.extend(["worst", "margin", "at", "met"]);
    }
    let row = |standing: &&Standing<'_>| {
        let limit = standing.limit;
        let mut cells = vec![
            limit.id.clone(),
            limit.place.clone(),
            limit.words.clone(),
            with_unit(limit.limit, limit.unit),
        ];
        match &limit.statistics {
            Some(of) => {
                let quantile = |p: &str| {
                    of.margin_quantiles
                        .iter()
                        .find(|(name, _)| *name == p)
                        .map_or_else(|| "-".to_owned(), |(_, value)| with_unit(*value, limit.unit))
                };
                cells.push(bound_of(of).map_or_else(|| "-".to_owned(), |kept| with_unit(kept, limit.unit)));
                cells.extend(["0.05", "0.5", "0.95"].map(quantile));
                cells.push(percent(of.probability));
            }
            None => {
                cells.extend([
                    with_unit(limit.worst, limit.unit),
                    with_unit(limit.margin, limit.unit),
                    crate::results::numbers::clock(limit.at_h),
                ]);
                cells.push(if standing.met { "yes" } else { "NO" }.to_owned());
            }
        }
        cells
    };
    Data {
        headers: headers.into_iter().map(str::to_owned).collect(),
        rows: all.iter().map(row).collect(),
        note: "One row to a limit, whoever has least; summary.json has everyone.".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::results::sample::{limit, run, vary};

    /// The parts of a row's solid bar times its scale are the margins that it stands for.
    #[test]
    fn bars_stand_for_the_margins_of_the_summary() {
        let figure = figure(&run(vec![limit("co2-1h", 0.6), limit("co2-ceiling", -0.3)])).expect("drawn");
        // 0.6 of 3 and -0.3 of 3; the one that is beyond comes first and is marked.
        for (bar, part) in [("broken", -0.1), ("kept", 0.2)] {
            let from = format!("class=\"{bar}\" data-from=\"0\" data-to=\"");
            let to = figure.body.split_once(&from).expect(bar).1;
            let to: f64 = to
                .split('"')
                .next()
                .and_then(|text| text.parse().ok())
                .expect("a number");
            assert!((to - part).abs() < 1e-12, "{to}");
        }
        assert!(figure.body.find("co2-ceiling") < figure.body.find("co2-1h"));
        assert!(figure.body.contains("\u{25b2} co2-ceiling"));
    }

    #[test]
    fn over_variations_each_row_has_its_own_scale_and_its_bound() {
        let figure = figure(&vary(vec![(limit("co2-1h", 0.6), Some(0.15))])).expect("drawn");
        // Quantiles 0.1 and 0.6 of the sample; there is no 95 %, so there is no bar, but a bound and a median.
        assert!(figure.body.contains("class=\"bound\"") && figure.body.contains("class=\"middle\""));
        assert!(
            figure.body.contains("keeps 0.15 mmHg; beyond in 12.3 %"),
            "{}",
            figure.body
        );
        assert_eq!(figure.data.rows[0][4], "0.15 mmHg");
    }

    #[test]
    fn without_limits_there_is_no_figure() {
        assert!(figure(&run(Vec::new())).is_none());
        assert!(figure(&run(vec![limit("co2-1h", f64::NAN)])).is_none());
    }
}
