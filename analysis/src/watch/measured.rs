//! What was measured, held against what is expected: a file's columns on the detector's rows, and what the detector says of them.
//!
//! A column belongs to the instrument of its name; its unit stands in its header. Readings go to the row nearest in time, within half of the
//! spacing of rows; of several the nearest. Rows without a reading are gaps, as are readings beyond the instrument's range: a sensor that
//! reads more than it can says nothing. `offset` is added to the file's times, which count from the start of the scenario.

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::Diagnostic;
use breathroom_sim::units::Dimension;

use super::detector::{Detector, Method, Seen};
use super::instruments::Instrument;
use super::operating::alarms;
use super::tuning::residuals;
use super::whiten::Rows;
use crate::measured::{Sheet, clock};

/// Readings so much more or less than expected are in another unit, or of something else.
const ANOTHER_UNIT: f64 = 3.0;

/// Measured readings on rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Instrument by instrument, row by row, SI; not a number at gaps.
    pub readings: Rows,
    /// Readings of each instrument that were used.
    pub used: Vec<usize>,
    /// What deserves a look.
    pub notes: Vec<String>,
}

/// Reads a file of measurements.
///
/// # Errors
/// Everything that is wrong with it: no table, no column of times, no column of an instrument, a wrong unit, nothing but gaps, too few rows.
pub fn read(
    (name, bytes): (&str, &[u8]),
    instruments: &[Instrument],
    (case, reference): (&Case, &Rows),
    (step_s, offset_s, window): (f64, f64, usize),
) -> Result<Measured, Vec<Diagnostic>> {
    let mut sheet = Sheet::read(name, bytes)?;
    let time = sheet.need("time");
    let clock = time.and_then(|time| clock(&mut sheet, time));
    let mut notes = Vec::new();
    let columns: Vec<Option<usize>> = instruments
        .iter()
        .map(|instrument| sheet.find(&instrument.name))
        .collect();
    let known = instruments.iter().map(|instrument| instrument.name.as_str());
    let others: Vec<String> = sheet
        .names()
        .filter(|name| *name != "time" && !known.clone().any(|known| known == *name))
        .map(str::to_owned)
        .collect();
    if columns.iter().all(Option::is_none) {
        let list: Vec<String> = known.clone().map(|name| format!("`{name}`")).collect();
        let help = format!("a column for at least one of {}", list.join(", "));
        sheet.fault_of(0, "no column is that of an instrument", &help);
    } else if !others.is_empty() {
        notes.push(format!(
            "Columns of no instrument were left out: {}.",
            others.join(", ")
        ));
    }
    let absent: Vec<&str> = instruments
        .iter()
        .zip(&columns)
        .filter(|(_, column)| column.is_none())
        .map(|(instrument, _)| instrument.name.as_str())
        .collect();
    if !absent.is_empty() && absent.len() < instruments.len() {
        notes.push(format!("Not measured: {}.", absent.join(", ")));
    }
    let rows = reference.first().map_or(0, Vec::len);
    let mut readings = vec![vec![f64::NAN; rows]; instruments.len()];
    let mut used = vec![0; instruments.len()];
    for (index, column) in columns.iter().enumerate() {
        let Some(column) = *column else { continue };
        let instrument = &instruments[index];
        let Some((values, unit)) = sheet.quantities(column, instrument.reads.dimension()) else {
            continue;
        };
        let Some(clock) = &clock else { continue };
        if values.iter().all(Option::is_none) {
            sheet.fault_of(
                column,
                format!("`{}` has no reading, only gaps", instrument.name),
                "leave out a column without readings",
            );
            continue;
        }
        let [least, most] = instrument.figures(case).range;
        let mut off = vec![f64::INFINITY; rows];
        let (mut outside, mut beyond) = (0_usize, 0_usize);
        for (value, at_s) in values.iter().zip(&clock.time_s) {
            let Some(value) = *value else { continue };
            let at = (at_s + offset_s) / step_s;
            let row = libm::round(at);
            if row < 0.0 || row >= rows as f64 {
                outside += 1;
                continue;
            }
            if value < least || value > most {
                beyond += 1;
                continue;
            }
            let (row, apart) = (row as usize, (at - row).abs());
            if apart < off[row] {
                used[index] += usize::from(off[row].is_infinite());
                off[row] = apart;
                readings[index][row] = value;
            }
        }
        if outside > 0 {
            notes.push(format!(
                "{outside} readings of {} lie before the start or after the end of the run and were left out.",
                instrument.name
            ));
        }
        if beyond > 0 {
            notes.push(format!(
                "{beyond} readings of {} lie beyond the instrument's range and count as gaps.",
                instrument.name
            ));
        }
        if used[index] == 0 {
            sheet.fault_of(
                column,
                format!(
                    "no reading of `{}` lies within the run and the instrument's range",
                    instrument.name
                ),
                "times count from the start of the scenario; --clock moves them",
            );
        }
        notes.extend(other_unit(instrument, &readings[index], &reference[index], unit.symbol));
    }
    if let Some(clock) = &clock {
        if !clock.gaps.is_empty() {
            notes.push(format!(
                "The file has {} where it skips more than three steps.",
                plural(clock.gaps.len(), "gap")
            ));
        }
        let with = (0..rows)
            .filter(|&row| readings.iter().any(|series| series[row].is_finite()))
            .count();
        if with < window && sheet.is_sound() {
            sheet.fault_of(
                time.unwrap_or(0),
                format!("{} with a reading", plural(with, "row")),
                &format!("the innovation test alone takes {window}"),
            );
        }
    }
    if sheet.is_sound() {
        Ok(Measured { readings, used, notes })
    } else {
        Err(sheet.faults())
    }
}

fn plural(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// A sentence if readings look like those of another unit.
fn other_unit(instrument: &Instrument, readings: &[f64], reference: &[f64], unit: &str) -> Option<String> {
    if instrument.reads.dimension() == Dimension::Temperature {
        return None;
    }
    let mut ratios: Vec<f64> = readings
        .iter()
        .zip(reference)
        .map(|(a, b)| a / b)
        .filter(|ratio| ratio.is_finite())
        .collect();
    ratios.sort_by(f64::total_cmp);
    let middle = *ratios.get(ratios.len() / 2)?;
    let apart = if middle > 0.0 {
        middle.max(1.0 / middle)
    } else {
        f64::INFINITY
    };
    (apart > ANOTHER_UNIT).then(|| {
        let times = breathroom_sim::units::figures(middle, 3);
        format!(
            "Readings of {} are {times} times what is expected, in the middle: is {unit} their unit, and is this the instrument?",
            instrument.name
        )
    })
}

/// An alarm on measured readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Alarm {
    /// Of which method.
    pub method: Method,
    /// When, s from the start.
    pub at_s: f64,
    /// The instrument whose chart it is, if it is one's.
    pub instrument: Option<usize>,
    /// For the bank: the modes with their probabilities, likeliest first.
    pub likely: Vec<(usize, f64)>,
}

/// What the detector says of measured readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Residuals, SI.
    pub residuals: Rows,
    /// Statistics.
    pub seen: Seen,
    /// Alarms, in order of time.
    pub alarms: Vec<Alarm>,
    /// The bank's probabilities after the last row with a reading, likeliest first: index of the mode.
    pub last: Vec<(usize, f64)>,
    /// When that row is, s.
    pub last_s: f64,
}

/// Runs a detector over measured readings; `bank` are the indices of the modes that it knows.
#[must_use]
pub fn watch(detector: &Detector, measured: &Measured, reference: &Rows, (bank, step_s): (&[usize], f64)) -> Found {
    let rows = residuals(&measured.readings, reference);
    let seen = detector.see(&rows);
    let white = detector.innovations(&rows);
    let likely = |rows: usize| {
        let mut shares: Vec<(usize, f64)> = bank
            .iter()
            .copied()
            .zip(detector.bank.posterior(&white, rows))
            .collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        shares
    };
    let length = rows.first().map_or(0, Vec::len);
    let is_read = |row: &usize| rows.iter().any(|series| series[*row].is_finite());
    let last = (0..length).rev().find(is_read).unwrap_or(0);
    let mut found = Vec::new();
    for (method, course) in seen.courses.iter().enumerate() {
        for row in alarms(&course.statistic, detector.thresholds[method], step_s) {
            let of = Method::ALL[method];
            found.push(Alarm {
                method: of,
                at_s: row as f64 * step_s,
                instrument: course.instrument.get(row).map(|index| usize::from(*index)),
                likely: if of == Method::Bank {
                    likely(row + 1)
                } else {
                    Vec::new()
                },
            });
        }
    }
    found.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    Found {
        last: likely(last + 1),
        last_s: last as f64 * step_s,
        residuals: rows,
        seen,
        alarms: found,
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::limits::Quantity;

    use super::*;
    use crate::watch::instruments::{Figures, Numbers, Reads};

    fn instruments() -> Vec<Instrument> {
        let one = |name: &str, reads| Instrument {
            name: name.to_owned(),
            reads,
            numbers: Numbers::Own(Figures {
                noise: 0.0,
                lag_s: 0.0,
                every_s: 0.0,
                bias: 0.0,
                resolution: 0.0,
                range: [0.0, 1_000.0],
            }),
            source: String::new(),
        };
        vec![
            one("co2", Reads::Air(Quantity::Co2, 0)),
            one("humidity", Reads::Air(Quantity::Humidity, 0)),
        ]
    }

    fn read_it(text: &str, offset_s: f64) -> Result<Measured, Vec<Diagnostic>> {
        let reference = vec![vec![200.0; 5], vec![0.5; 5]];
        read(
            ("m.csv", text.as_bytes()),
            &instruments(),
            (&Case::default(), &reference),
            (60.0, offset_s, 2),
        )
    }

    #[test]
    fn columns_go_to_their_rows_with_gaps_and_an_offset() {
        let text = "time [min],co2 [Pa],note\n0.2,100,a\n1,110,b\n1.4,120,c\n2.6,NA,d\n3.1,5000,e\n9,130,f\n";
        let measured = read_it(text, 0.0).unwrap_or_else(|faults| panic!("{faults:#?}"));
        let co2 = &measured.readings[0];
        assert_eq!([co2[0], co2[1]], [100.0, 110.0]);
        assert!(co2[2..].iter().all(|x| x.is_nan()) && measured.readings[1].iter().all(|x| x.is_nan()));
        let notes = measured.notes.join(" ");
        for said in [
            "left out: note",
            "Not measured: humidity",
            "1 readings of co2 lie before the start or after the end",
            "beyond the instrument's range",
        ] {
            assert!(notes.contains(said), "{said}: {notes}");
        }
        let moved = read_it(text, 120.0).expect("read");
        assert_eq!([moved.readings[0][2], moved.readings[0][3]], [100.0, 110.0]);
    }

    #[test]
    fn what_is_wrong_with_a_file_is_told() {
        for (text, said) in [
            ("co2 [Pa]\n1\n2\n", "there is no column `time`"),
            ("time [min],x [Pa]\n0,1\n1,2\n", "no column is that of an instrument"),
            ("time [min],co2 [kg]\n0,1\n1,2\n", "the column `co2`"),
            ("time [min],co2 [Pa]\n0,NA\n1,\n", "has no reading, only gaps"),
            ("time [min],co2 [Pa]\n0,100\n1,\n", "1 row with a reading"),
            (
                "time [h],co2 [Pa]\n10,100\n11,100\n",
                "no reading of `co2` lies within the run",
            ),
            ("time [min],co2 [Pa]\n1,100\n0,100\n", "earlier than the row before"),
            (
                "time [min],co2 [Pa]\n0,9000\n1,9000\n",
                "no reading of `co2` lies within the run",
            ),
            ("time,co2 [Pa]\n0,1\n1,2\n", "the column `time`"),
        ] {
            let faults = read_it(text, 0.0).expect_err(text);
            assert!(
                faults.iter().any(|fault| fault.message.contains(said)),
                "{text}: {faults:#?}"
            );
        }
    }

    #[test]
    fn readings_in_another_unit_deserve_a_look() {
        let measured = read_it("time [min],co2 [Pa]\n0,1.5\n1,1.5\n2,1.4\n", 0.0).expect("read");
        assert!(
            measured.notes.join(" ").contains("0.0075 times what is expected"),
            "{:?}",
            measured.notes
        );
    }
}
