//! A column of times: rising, whole, and how even it is.

use breathroom_sim::units::Dimension;

use super::Sheet;

/// Times of a series, s, rising.
#[derive(Clone, Debug, PartialEq)]
pub struct Clock {
    /// As in the file, s.
    pub time_s: Vec<f64>,
    /// The middle of the steps, s; 0 for a single row.
    pub step_s: f64,
    /// Rows that come later after the one before than three such steps: first and second row of each gap.
    pub gaps: Vec<(usize, usize)>,
}

/// The times of a column; each row must have one, later than that of the row before. `None` if something is wrong, which is told.
pub fn clock(sheet: &mut Sheet, column: usize) -> Option<Clock> {
    let (values, _) = sheet.quantities(column, Dimension::Time)?;
    let mut time_s: Vec<f64> = Vec::with_capacity(values.len());
    for (row, value) in values.into_iter().enumerate() {
        match (value, time_s.last()) {
            (None, _) => sheet.fault(row, column, "a row without a time", "every row has one"),
            (Some(at), Some(&last)) if at <= last => {
                let message = if at == last {
                    "the same time as the row before"
                } else {
                    "earlier than the row before"
                };
                sheet.fault(
                    row,
                    column,
                    message,
                    "times rise from row to row; a clock that was set back is two files",
                );
            }
            (Some(at), _) => time_s.push(at),
        }
    }
    if time_s.len() < sheet.len() {
        return None;
    }
    let mut steps: Vec<f64> = time_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_by(f64::total_cmp);
    let step_s = steps.get(steps.len() / 2).copied().unwrap_or(0.0);
    let gaps = (1..time_s.len()).filter(|&row| time_s[row] - time_s[row - 1] > 3.0 * step_s);
    Some(Clock {
        gaps: gaps.map(|row| (row - 1, row)).collect(),
        step_s,
        time_s,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clock_of(times: &str) -> Result<Clock, Vec<String>> {
        let text = format!(
            "time [min],x\n{}",
            times.split(' ').map(|t| format!("{t},1\n")).collect::<String>()
        );
        let mut sheet = Sheet::read("a.csv", text.as_bytes()).expect("a sheet");
        clock(&mut sheet, 0).ok_or_else(|| sheet.faults().into_iter().map(|fault| fault.message).collect())
    }

    #[test]
    fn gaps_are_seen_and_a_clock_that_goes_back_is_refused() {
        let clock = clock_of("0 1 2 3 9 10").expect("rising");
        assert_eq!((clock.step_s, clock.gaps), (60.0, vec![(3, 4)]));
        assert_eq!(
            clock_of("0 1 1 0.5"),
            Err(vec![
                "the same time as the row before".to_owned(),
                "earlier than the row before".to_owned()
            ])
        );
        assert_eq!(clock_of("0 NA 2"), Err(vec!["a row without a time".to_owned()]));
        assert_eq!(clock_of("7").expect("one row").step_s, 0.0);
    }
}
