//! Results as the page shows them: margins of both variants with their difference, and the figures.

use std::sync::Arc;

use serde_json::{Value, json};

use super::curves::{self, Run};
use super::state::State;
use super::variant::Variant;
use super::work::{Nominal, Studied};
use crate::results::summary::Limit;
use crate::results::words;
use crate::results::{caution, numbers};
use crate::study::QUANTILES;

/// Which figures a page wants.
pub(super) enum Wanted<'w> {
    /// All; none if it has those of these runs already.
    Unless(Option<&'w str>),
    /// Those that are in view, by their ids: the page asks for all when the hand rests.
    InView(&'w [String]),
}

/// What is shown of a variant, apart from the state, so that nothing waits while it is drawn.
pub(super) struct Results {
    number: u64,
    each: Vec<Each>,
}

struct Each {
    name: &'static str,
    nominal: Option<Arc<Nominal>>,
    /// Which run that is: of which variant, and of which state of its text.
    ran: Option<(u64, u64)>,
    studied: Option<Arc<Studied>>,
    /// The curves are of the text as it stands.
    current: bool,
    /// Why they are not, if they will not be.
    stays: Option<String>,
    /// The variations are those of the text and the number asked for.
    fresh: bool,
}

impl Results {
    /// As they stand.
    pub fn of(state: &State) -> Self {
        let each = state.variants.iter().zip(["A", "B"]);
        Self {
            number: state.results,
            each: each
                .map(|(variant, name)| Each::of(variant, name, state.runs))
                .collect(),
        }
    }

    /// Which runs the figures are of.
    fn drawn(&self) -> String {
        let of = |each: &Each| {
            each.ran
                .map(|(variant, revision)| format!("{}-{variant}-{revision}", each.name))
        };
        self.each.iter().filter_map(of).collect::<Vec<_>>().join(".")
    }

    /// As the page wants them.
    pub fn json(&self, wanted: &Wanted<'_>) -> Value {
        let runs: Vec<Run<'_>> = self
            .each
            .iter()
            .filter_map(|each| {
                let run = each.nominal.as_ref()?;
                Some((
                    each.name,
                    run.scenario.as_ref(),
                    &run.case,
                    &run.outcome,
                    &run.trace,
                    &run.summary,
                ))
            })
            .collect();
        let drawn = self.drawn();
        let figures = match wanted {
            Wanted::Unless(has) if *has == Some(drawn.as_str()) => None,
            Wanted::Unless(_) => Some(curves::drawn(&runs, &|_| true)),
            Wanted::InView(ids) => Some(curves::drawn(&runs, &|id| ids.iter().any(|known| known == id))),
        };
        // Each apart, so that a page puts in only those that are others.
        let figures = figures.map(|each| {
            let each = each.into_iter();
            each.map(|(id, html)| json!({ "id": id, "html": html }))
                .collect::<Vec<_>>()
        });
        json!({
            "results": self.number,
            "drawn": drawn,
            "in_view": matches!(wanted, Wanted::InView(_)),
            "figures": figures,
            "variants": self.each.iter().map(Each::json).collect::<Vec<_>>(),
            "margins": self.margins(),
            "caution": runs.iter().map(|run| caution::of(run.2)).max_by_key(String::len),
        })
    }

    /// One row for each limit that any variant has.
    fn margins(&self) -> Vec<Value> {
        let mut keys: Vec<(&str, &str)> = Vec::new();
        for limit in self.each.iter().flat_map(Each::limits) {
            let key = (limit.id.as_str(), limit.place.as_str());
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        let row = |key: &(&str, &str)| {
            let found: Vec<Option<&Limit>> = self.each.iter().map(|each| own(each, key)).collect();
            let limit = found.iter().flatten().next()?;
            let difference = match (found.first(), found.get(1)) {
                (Some(Some(a)), Some(Some(b))) if a.unit == b.unit => Some(b.margin - a.margin),
                _ => None,
            };
            Some(json!({
                "id": limit.id,
                "where": limit.place,
                "words": limit.words,
                "limit": words::limit_text(limit),
                "source": limit.source,
                "cells": found.iter().zip(&self.each).map(|(found, each)| {
                    found.map(|limit| each.cell(limit))
                }).collect::<Vec<_>>(),
                "difference": difference.filter(|by| by.is_finite()).map(|by| signed(by, limit.unit)),
            }))
        };
        keys.iter().filter_map(row).collect()
    }
}

/// A variant's limit of this id and place.
fn own<'e>(each: &'e Each, (id, place): &(&str, &str)) -> Option<&'e Limit> {
    each.limits()
        .iter()
        .find(|limit| limit.id == *id && limit.place == *place)
}

fn signed(by: f64, unit: &str) -> String {
    let sign = if by > 0.0 { "+" } else { "" };
    format!("{sign}{}", numbers::with_unit(by, unit))
}

impl Each {
    fn of(variant: &Variant, name: &'static str, runs: u64) -> Self {
        let now = variant.revision;
        let current = variant.nominal.as_ref().is_some_and(|(of, _)| *of == now) && variant.runnable().is_some();
        let failed = variant.failed.as_ref().filter(|(of, _)| *of == now);
        let stays = match (variant.runnable(), failed) {
            (None, _) => Some("something is wrong with the scenario".to_owned()),
            (_, Some((_, why))) => Some(format!("the run could not be finished: {why}")),
            _ => None,
        };
        Self {
            name,
            nominal: variant.nominal.as_ref().map(|(_, nominal)| nominal.clone()),
            ran: variant.nominal.as_ref().map(|(of, _)| (variant.id, *of)),
            studied: variant.studied.as_ref().map(|(_, studied)| studied.clone()),
            fresh: current
                && variant
                    .studied
                    .as_ref()
                    .is_some_and(|(of, studied)| *of == now && studied.runs == runs),
            current,
            stays,
        }
    }

    fn limits(&self) -> &[Limit] {
        self.nominal.as_ref().map_or(&[], |nominal| &nominal.summary.limits)
    }

    fn json(&self) -> Value {
        let end = self.nominal.as_ref().and_then(|nominal| {
            let end = &nominal.summary.end;
            let cause = end.cause.as_ref()?;
            Some(format!("ended after {}: {cause}", numbers::with_unit(end.at_h, "h")))
        });
        json!({
            "name": self.name,
            "ran": self.nominal.is_some(),
            "current": self.current,
            "stays": self.stays,
            "end": end,
            "milliseconds": self.nominal.as_ref().map(|nominal| (nominal.took.as_secs_f64() * 1e4).round() / 10.0),
            "study": self.studied.as_ref().map(|studied| self.study(studied)),
        })
    }

    fn study(&self, studied: &Studied) -> Value {
        match &studied.result {
            Err(why) => json!({ "runs": studied.runs, "fresh": self.fresh, "failure": why }),
            Ok(vary) => json!({
                "runs": studied.runs,
                "fresh": self.fresh,
                "not_survived": (vary.survival.not_survivable + vary.survival.failed > 0)
                    .then(|| numbers::percent(vary.survival.probability)),
            }),
        }
    }

    fn cell(&self, limit: &Limit) -> Value {
        let applies = limit.margin.is_finite();
        json!({
            "margin": applies.then(|| numbers::with_unit(limit.margin, limit.unit)),
            "fraction": limit.margin_fraction,
            "worst": limit.worst.is_finite().then(|| numbers::with_unit(limit.worst, limit.unit)),
            "at": limit.at_h.is_finite().then(|| numbers::with_unit(limit.at_h, "h")),
            "met": limit.met,
            "study": self.varied(limit),
        })
    }

    /// The share of variations beyond a limit, and quantiles of its margin.
    fn varied(&self, of: &Limit) -> Option<Value> {
        let studied = self.studied.as_ref()?;
        let infos = &studied.scenario.limits;
        let index = infos
            .iter()
            .position(|info| info.id == of.id && info.subject == of.place)?;
        let info = &infos[index];
        let limit = studied.result.as_ref().ok()?.limits.get(index)?;
        let quantile = |p: f64| {
            let at = QUANTILES.iter().position(|known| *known == p)?;
            let value = info.unit.difference_from_si(limit.margin_quantiles[at]);
            value.is_finite().then(|| numbers::short(value))
        };
        Some(json!({
            "beyond": numbers::percent(limit.probability),
            "any": limit.violations > 0,
            "low": quantile(0.05),
            "middle": quantile(0.5),
            "high": quantile(0.95),
            "unit": info.unit.symbol,
            "fresh": self.fresh,
        }))
    }
}
