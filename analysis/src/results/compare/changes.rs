//! What went in on both sides: values by their paths, data files by their digests, limits by their ids.

use std::collections::BTreeMap;

use super::side::{InputOf, LimitOf, Side};

/// How something differs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// Not at all.
    Same,
    /// It is on A alone.
    OnlyA,
    /// It is on B alone.
    OnlyB,
    /// It has another value, or says something else.
    Changed,
    /// It is written in another way, and is the same in SI to the four figures in which that is told.
    Written,
}

impl How {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Same => "the same",
            Self::OnlyA => "only in A",
            Self::OnlyB => "only in B",
            Self::Changed => "changed",
            Self::Written => "written in another way",
        }
    }
}

/// A value or a data file that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// Its path; of a data file "file NAME".
    pub path: String,
    /// How.
    pub how: How,
    /// On A.
    pub a: Option<InputOf>,
    /// On B.
    pub b: Option<InputOf>,
}

/// A limit, and what became of its rule.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleChanged {
    /// Its id.
    pub id: String,
    /// How it differs.
    pub how: How,
    /// On A, without its margins.
    pub a: Option<LimitOf>,
    /// On B.
    pub b: Option<LimitOf>,
}

/// The inputs that differ, those of A in its order, then those of B alone, then data files; `None` if one side does not know them.
pub fn inputs(a: &Side, b: &Side) -> Option<Vec<Changed>> {
    let (of_a, of_b) = (a.inputs.as_ref()?, b.inputs.as_ref()?);
    let mut all = differing(of_a, of_b);
    let files = |side: &Side| -> Vec<InputOf> {
        let file = |file: &crate::results::provenance::FileDigest| InputOf {
            path: format!("file {}", file.name),
            written: format!("SHA-256 {}", file.sha256),
            si: String::new(),
            is_default: false,
        };
        side.data_files.iter().map(file).collect()
    };
    all.extend(differing(&files(a), &files(b)));
    Some(all)
}

/// By path, and by how often it has come before.
fn keyed(inputs: &[InputOf]) -> Vec<((&str, usize), &InputOf)> {
    let mut times: BTreeMap<&str, usize> = BTreeMap::new();
    inputs
        .iter()
        .map(|input| {
            let count = times.entry(&input.path).or_insert(0);
            *count += 1;
            ((input.path.as_str(), *count), input)
        })
        .collect()
}

fn differing(a: &[InputOf], b: &[InputOf]) -> Vec<Changed> {
    let (of_a, of_b) = (keyed(a), keyed(b));
    let (by_a, by_b): (BTreeMap<_, _>, BTreeMap<_, _>) =
        (of_a.iter().copied().collect(), of_b.iter().copied().collect());
    let changed = |how, a: Option<&InputOf>, b: Option<&InputOf>| Changed {
        path: a.or(b).map(|input| input.path.clone()).unwrap_or_default(),
        how,
        a: a.cloned(),
        b: b.cloned(),
    };
    let mut all = Vec::new();
    for (key, a) in &of_a {
        match by_b.get(key) {
            None => all.push(changed(How::OnlyA, Some(a), None)),
            Some(b) if a.written == b.written && a.si == b.si => {}
            Some(b) => {
                let how = if !a.si.is_empty() && a.si == b.si {
                    How::Written
                } else {
                    How::Changed
                };
                all.push(changed(how, Some(a), Some(b)));
            }
        }
    }
    let only_b = of_b.iter().filter(|(key, _)| !by_a.contains_key(key));
    all.extend(only_b.map(|(_, b)| changed(How::OnlyB, None, Some(b))));
    all
}

/// Every limit of both.
pub fn rules(a: &Side, b: &Side) -> Vec<RuleChanged> {
    let bare = |limit: &LimitOf| LimitOf {
        margins: Vec::new(),
        ..limit.clone()
    };
    let of_a = a.limits.iter().map(|x| {
        let other = b.limits.iter().find(|y| y.id == x.id).map(bare);
        let x = bare(x);
        let how = match &other {
            None => How::OnlyA,
            Some(other) if *other == x => How::Same,
            Some(_) => How::Changed,
        };
        RuleChanged {
            id: x.id.clone(),
            how,
            a: Some(x),
            b: other,
        }
    });
    let is_new = |y: &&LimitOf| a.limits.iter().all(|x| x.id != y.id);
    let of_b = b.limits.iter().filter(is_new).map(|y| RuleChanged {
        id: y.id.clone(),
        how: How::OnlyB,
        a: None,
        b: Some(bare(y)),
    });
    of_a.chain(of_b).collect()
}
