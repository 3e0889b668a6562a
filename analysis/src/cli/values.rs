//! Values of arguments: what may be typed, and what it means.

use std::path::PathBuf;

use breathroom_sim::units::{Dimension, parse};

use crate::chance::Design;
use crate::results::parts::Share;
use crate::study::Gate;
use crate::trades::about::Spread;

/// A quantity and its values, as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Over {
    /// Its path.
    pub path: String,
    /// Its values.
    pub values: Vec<String>,
}

/// Parts of a device that are left, as fractions.
#[derive(Clone, Debug, PartialEq)]
pub struct Left(pub Vec<f64>);

/// A folder's name.
///
/// # Errors
/// What would be right.
pub fn folder(text: &str) -> Result<PathBuf, String> {
    if text.is_empty() {
        Err("a folder has a name".to_owned())
    } else {
        Ok(PathBuf::from(text))
    }
}

/// The form alone; whether the path and the value are right is for the reader of scenarios to say.
///
/// # Errors
/// What would be right.
pub fn override_text(text: &str) -> Result<String, String> {
    match text.split_once('=') {
        Some((path, _)) if !path.trim().is_empty() => Ok(text.to_owned()),
        _ => Err("write PATH=VALUE, as in removal.scrubber.flow=\"0.8 m3/min\"".to_owned()),
    }
}

/// A design by its name.
///
/// # Errors
/// What would be right.
pub fn design(text: &str) -> Result<Design, String> {
    let names = Design::ALL.map(Design::name).join(", ");
    Design::parse(text).ok_or_else(|| format!("there are these: {names}"))
}

/// `60 %,30 %`: parts in percent, each once.
///
/// # Errors
/// What would be right.
pub fn left(text: &str) -> Result<Left, String> {
    let wrong = || "write parts in percent from 0 to 100, with commas between, as in \"60 %,30 %\"".to_owned();
    let mut parts: Vec<f64> = Vec::new();
    for part in text.split(',') {
        let number = part.trim().strip_suffix('%').ok_or_else(wrong)?.trim();
        // A decimal shift in the text, so that 60 % is the same bits as 0.6.
        let part: f64 = format!("{number}e-2").parse().map_err(|_| wrong())?;
        if !(0.0..=1.0).contains(&part) {
            return Err(wrong());
        }
        if !parts.contains(&part) {
            parts.push(part);
        }
    }
    Ok(Left(parts))
}

/// `25 %,50 %`: severities in percent, above 0, each once and rising.
///
/// # Errors
/// What would be right.
pub fn severities(text: &str) -> Result<Left, String> {
    let wrong =
        || "write severities in percent above 0 up to 100, with commas between, as in \"25 %,50 %,75 %\"".to_owned();
    let Left(mut parts) = left(text).map_err(|_| wrong())?;
    parts.sort_by(f64::total_cmp);
    if parts.first().is_some_and(|least| *least > 0.0) {
        Ok(Left(parts))
    } else {
        Err(wrong())
    }
}

/// A time with its unit, in s; below 0 where a sign says so.
///
/// # Errors
/// What would be right.
pub fn duration(text: &str) -> Result<f64, String> {
    let (sign, rest) = match text.trim().strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.trim().trim_start_matches('+')),
    };
    let read = parse(rest.trim(), Dimension::Time).map_err(|error| format!("{}; {}", error.message(), error.help()))?;
    Ok(sign * read.si)
}

/// `1 per 30 d`, or a number a day.
///
/// # Errors
/// What would be right.
pub fn per_day(text: &str) -> Result<f64, String> {
    let wrong = || "write a rate above 0, as in \"1 per 30 d\" or 0.05 (a day)".to_owned();
    let rate = match text.split_once("per") {
        Some((count, time)) => {
            let count: f64 = count.trim().parse().map_err(|_| wrong())?;
            86_400.0 * count / parse(time.trim(), Dimension::Time).map_err(|_| wrong())?.si
        }
        None => text.trim().parse().map_err(|_| wrong())?,
    };
    if rate > 0.0 && rate <= 1_000.0 {
        Ok(rate)
    } else {
        Err(wrong())
    }
}

/// `removal.scrubber.flow=0.5 m3/min,0.6 m3/min`: each value once.
///
/// # Errors
/// What would be right.
pub fn over(text: &str) -> Result<Over, String> {
    let wrong = || "write PATH=VALUE,VALUE,..., as in removal.scrubber.flow=\"0.5 m3/min,0.6 m3/min\"".to_owned();
    let (path, list) = text.split_once('=').ok_or_else(wrong)?;
    let mut values: Vec<String> = Vec::new();
    for value in list.trim().trim_matches('"').split(',').map(str::trim) {
        if value.is_empty() {
            return Err(wrong());
        }
        if !values.iter().any(|other| other == value) {
            values.push(value.to_owned());
        }
    }
    match path.trim() {
        "" => Err(wrong()),
        path => Ok(Over {
            path: path.to_owned(),
            values,
        }),
    }
}

/// How a spread is kept, by its name.
///
/// # Errors
/// What would be right.
pub fn spread(text: &str) -> Result<Spread, String> {
    Spread::parse(text).ok_or_else(|| "there are exact, scaled and shifted".to_owned())
}

/// `2/10`: which share, from 1, of how many.
///
/// # Errors
/// What would be right.
pub fn share(text: &str) -> Result<Share, String> {
    let wrong = || "write K/N, the K-th (from 1) of N shares, as in 2/10".to_owned();
    let (shard, shards) = text.split_once('/').ok_or_else(wrong)?;
    let number = |text: &str| text.trim().parse::<u64>().ok();
    let (shard, shards) = number(shard).zip(number(shards)).ok_or_else(wrong)?;
    let good = (1..=shards).contains(&shard) && shards <= 1 << 32;
    good.then_some(Share { shard, shards }).ok_or_else(wrong)
}

/// `99/95` or `99 %/95 %`: both between 0 and 100.
///
/// # Errors
/// What would be right.
pub fn gate(text: &str) -> Result<Gate, String> {
    Gate::parse(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gate_is_two_shares_in_percent() {
        assert_eq!(gate("95/95"), Ok(Gate::USUAL));
        assert_eq!(
            gate("99.9 % / 90 %").map(|gate| (gate.coverage(), gate.confidence())),
            Ok((0.999, 0.9))
        );
        for wrong in ["", "95", "95/100", "0/95", "a/b", "NaN/95", "95/95/95", "-5/95"] {
            assert!(gate(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn parts_left_are_percents_each_once() {
        assert_eq!(left("60 %,30%, 60 %"), Ok(Left(vec![0.6, 0.3])));
        for wrong in ["", "60", "101 %", "-1 %", "a %", "60 %,", "NaN %", "inf%"] {
            assert!(left(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn severities_rates_and_times_are_read() {
        assert_eq!(severities("75 %,25%"), Ok(Left(vec![0.25, 0.75])));
        for wrong in ["", "0 %", "101 %", "0.5", "25 %,120 %", "-5 %"] {
            assert!(severities(wrong).is_err_and(|why| why.contains("up to 100")), "{wrong}");
        }
        assert_eq!(per_day("1 per 30 d"), Ok(1.0 / 30.0));
        assert_eq!((per_day("3 per 12 h"), per_day("0.5")), (Ok(6.0), Ok(0.5)));
        for wrong in ["", "0", "-1", "1 per", "1 per 0 d", "one per day", "NaN", "1 per 2 kg"] {
            assert!(per_day(wrong).is_err(), "{wrong}");
        }
        assert_eq!((duration("-2 min"), duration("90 s")), (Ok(-120.0), Ok(90.0)));
        assert!(duration("90").is_err() && duration("1 kg").is_err());
    }

    #[test]
    fn a_share_is_one_of_several() {
        assert_eq!(share("2/10"), Ok(Share { shard: 2, shards: 10 }));
        for wrong in ["", "2", "0/3", "4/3", "1/0", "a/3", "-1/3", "1/2/3"] {
            assert!(share(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn an_override_has_a_path() {
        assert!(override_text("a.b=1").is_ok());
        assert!(override_text("a.b").is_err());
        assert!(override_text("=1").is_err());
    }
}
