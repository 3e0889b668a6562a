//! How sure the figures of a study are: by what intervals, all limits together, quantiles, times to a crossing, why it
//! stopped.

use super::super::numbers::{clock, percent, short};
use super::super::ordered::Ordered;
use super::super::summary::{Crossing, JointBounds, Limit, Statistics, Summary, Variations};
use super::table;

/// How intervals and bounds are made.
pub(super) fn method(variations: &Variations) -> String {
    if variations.design == "plain" {
        return "*Kept*: the margin that this share of all variations keeps at least, with this confidence (Wilks 1941), for \
                each limit on its own. *95 % interval*: Clopper-Pearson."
            .to_owned();
    }
    format!(
        "*Kept*: the margin that this share of all variations keeps at least, with this confidence, for each limit on its \
         own. *95 % interval*: {}. The binomial (Clopper-Pearson) interval does not hold here: it takes the variations for \
         independent, and those of one replicate of this design are not; only the replicates are, so intervals and what is \
         kept come from their scatter. Where few variations are beyond a limit, what is kept holds with 93 to 95 % \
         confidence rather than 95 % (measured).",
        variations.interval_method
    )
}

pub(super) fn sure(out: &mut String, of: &Summary, variations: &Variations) {
    let joint = variations.joint_95_95;
    let is = if joint.met { "is" } else { "is **not**" };
    let [low, high] = joint.probability_95.map(percent);
    out.push_str(&format!(
        "All limits together: beyond one or more of them in {} of {} variations (95 % interval {low} to {high}), so it {is} \
         shown that 95 % of all variations keep all of them at once, with 95 % confidence.",
        joint.violations, variations.runs
    ));
    out.push_str(&together(joint.bounds.as_ref(), joint.limits));
    out.push_str("\n\n");
    if let Some(until) = &variations.until {
        out.push_str(&format!("{}\n\n", until.told()));
    }
    let judged: Vec<(&Limit, &Statistics)> = of
        .limits
        .iter()
        .filter_map(|limit| limit.statistics.as_ref().map(|statistics| (limit, statistics)))
        .collect();
    out.push_str("### How sure the quantiles are\n\n");
    const SHOWN: [(&str, &str); 4] = [("0.01", "1 %"), ("0.05", "5 %"), ("0.5", "50 %"), ("0.95", "95 %")];
    let mut header = vec!["limit", "where"];
    header.extend(SHOWN.iter().map(|(_, shown)| *shown));
    let rows = judged.iter().map(|(limit, statistics)| {
        let mut row = vec![limit.id.clone(), limit.place.clone()];
        row.extend(SHOWN.iter().map(|(key, _)| {
            let interval = statistics.margin_quantiles_95.get(key).copied().flatten();
            interval.map_or_else(
                || "-".to_owned(),
                |[low, high]| format!("{} to {}", short(low), short(high)),
            )
        }));
        row
    });
    table(out, &header, rows);
    out.push_str(
        "95 % intervals of the quantiles of the margin, whatever its distribution; - where there are too few variations. How \
         the figures settle with the number of variations is in `convergence.csv`.\n\n",
    );
    crossings(out, &judged);
}

/// What is said of margins that bound all limits at once: of more than one.
fn together(bounds: Option<&JointBounds>, limits: u64) -> String {
    let Some(bounds) = bounds.filter(|_| limits > 1) else {
        return String::new();
    };
    match (bounds.order, bounds.runs_needed) {
        (Some(order), _) => {
            let are = if bounds.met {
                "none of these is below zero"
            } else {
                "one or more of these is below zero"
            };
            format!(
                " The margins kept hold for each limit on its own; those that hold for all at once are those of order {order}, \
                 counted from the smallest: {are}."
            )
        }
        (None, Some(needed)) => format!(
            " The margins kept hold for each limit on its own; for margins that hold for all at once {needed} variations are \
             the fewest."
        ),
        (None, None) => String::new(),
    }
}

fn crossings(out: &mut String, judged: &[(&Limit, &Statistics)]) {
    let crossed: Vec<_> = judged.iter().filter(|(_, of)| !of.crossing_h.is_empty()).collect();
    if crossed.is_empty() {
        return;
    }
    out.push_str("### When limits are crossed\n\n");
    let rows = crossed.iter().map(|(limit, of)| {
        vec![
            limit.id.clone(),
            limit.place.clone(),
            time(&of.crossing_h, "0.05"),
            time(&of.crossing_h, "0.5"),
        ]
    });
    table(out, &["limit", "where", "5 % of variations by", "half by"], rows);
    out.push_str(
        "First crossings, each with its 95 % interval where it has one; the whole curves are in `survival.csv`.\n\n",
    );
}

fn time(of: &Ordered<Crossing>, share: &str) -> String {
    let Some(crossing) = of.get(share) else {
        return "-".to_owned();
    };
    let at = clock(crossing.time_h);
    match crossing.interval_95 {
        Some([low, high]) => {
            let end = |end: Option<f64>| end.map_or_else(|| "open".to_owned(), clock);
            format!("{at} ({} to {})", end(low), end(high))
        }
        None => at,
    }
}

impl super::super::summary::Until {
    /// In words.
    #[must_use]
    pub fn told(&self) -> String {
        let within = percent(self.probability_within);
        let looks = super::super::words::count(self.looks.len(), "look");
        let runs = self.looks.last().copied().unwrap_or(0);
        if self.reached {
            format!(
                "Stopped after {runs} variations and {looks}: every share of violations is known within {within}, the looks \
                 together at 95 % confidence."
            )
        } else {
            format!("Stopped at the cap of {runs} variations: not every share of violations is known within {within}.")
        }
    }
}
