//! What each row reads off its runs, and what is asked of that.

use breathroom_sim::scenario::Scenario;

use crate::study::measure::{Gauge, Measure, NoSuch};
use crate::study::trade::{Asked, Statistic};
use crate::trades::{At, Trade, What};

/// What is read, and what is asked.
#[derive(Clone, Debug)]
pub struct Plan {
    /// What every row reads, each once.
    pub measures: Vec<Measure>,
    /// What is asked of them: the statistical columns, in order.
    pub asked: Vec<Asked>,
    /// By column: its place among what is asked; none of a formula.
    pub of_column: Vec<Option<usize>>,
}

impl Plan {
    /// Of a trade.
    #[must_use]
    pub fn of(trade: &Trade) -> Self {
        let measures = trade.measures();
        let (mut asked, mut of_column) = (Vec::new(), Vec::new());
        for column in &trade.columns {
            let statistic = |at: At| match at {
                At::Gate => Statistic::Kept(trade.gate),
                At::Mean => Statistic::Mean,
                At::Quantile(p) => Statistic::Quantile(p),
            };
            let of = match &column.what {
                What::Margin { measure, at } | What::Result { measure, at } => Some((measure, statistic(*at))),
                What::Beyond(measure) if measure.is_margin() => Some((measure, Statistic::Beyond)),
                What::Beyond(measure) => Some((measure, Statistic::Share)),
                What::Formula(_) => None,
            };
            let place = |measure: &Measure| measures.iter().position(|other| other == measure);
            of_column.push(of.and_then(|(measure, statistic)| {
                asked.push(Asked {
                    measure: place(measure)?,
                    statistic,
                });
                Some(asked.len() - 1)
            }));
        }
        Self {
            measures,
            asked,
            of_column,
        }
    }

    /// The gauges of a row's scenario: what every row reads, then the margin of each of its limits, then whether it was lived through.
    ///
    /// # Errors
    /// If the row's scenario has nothing of a name.
    pub fn gauges(&self, scenario: &Scenario) -> Result<Vec<Gauge>, NoSuch> {
        let limits = scenario.limit_ids().into_iter().map(Measure::margin);
        self.measures
            .iter()
            .cloned()
            .chain(limits)
            .chain([Measure::NotSurvived])
            .map(|measure| measure.of(scenario))
            .collect()
    }
}
