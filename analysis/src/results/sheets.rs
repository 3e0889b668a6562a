//! Sheets that say what numbers rest on: every value that was given, every value that was assumed, every limit with its source.

use breathroom_sim::scenario::{Origin, Resolved, Scenario};

use super::table::{Cell, Column, Table};

/// Every value of a scenario that its file or an override gives.
#[must_use]
pub fn inputs(scenario: &Scenario) -> Table<'_> {
    let given: Vec<&Resolved> = scenario
        .resolved
        .iter()
        .filter(|value| !matches!(value.origin, Origin::Default { .. }))
        .collect();
    let columns = vec![
        Column::text("path", "Where it stands in the scenario, by names."),
        Column::text("as written", "As the scenario or an override has it."),
        Column::text("in SI", "The same in SI; of a spread its distribution."),
        Column::number(
            "5 %",
            "",
            "Of a spread: its 5 % quantile, in the unit it is written in.",
        ),
        Column::number("50 %", "", "Of a spread: its median."),
        Column::number("95 %", "", "Of a spread: its 95 % quantile."),
        Column::text("unit", "The unit of the quantiles."),
        Column::text("given by", "The line of the file, or an override."),
    ];
    Table::new(
        "inputs",
        "Every value that was given.",
        columns,
        given.len(),
        move |row, cells| {
            let value = given[row];
            cells.extend([
                value.path.as_str().into(),
                value.written.as_str().into(),
                value.si.as_str().into(),
            ]);
            match value.input.map(|input| &scenario.inputs[input]) {
                Some(input) => {
                    let shown = |p: f64| Cell::from(input.unit.from_si(input.spread.quantile(p)));
                    cells.extend([shown(0.05), shown(0.5), shown(0.95), input.unit.symbol.into()]);
                }
                None => cells.extend([Cell::Empty, Cell::Empty, Cell::Empty, Cell::Empty]),
            }
            cells.push(match value.origin {
                Origin::File { line } => format!("line {line}").into(),
                _ => "override".into(),
            });
        },
    )
}

/// Every value that was assumed: defaults with their sources.
#[must_use]
pub fn assumptions(scenario: &Scenario) -> Table<'_> {
    let assumed: Vec<(&Resolved, &str, bool)> = scenario
        .resolved
        .iter()
        .filter_map(|value| match &value.origin {
            Origin::Default { source, from_memory } => Some((value, source.as_str(), *from_memory)),
            _ => None,
        })
        .collect();
    let columns = vec![
        Column::text("path", "What was not given."),
        Column::text("assumed", "The default."),
        Column::text("in SI", "The same in SI."),
        Column::text("source", "Whose value it is."),
        Column::text("from memory", "yes: the source was recalled, not read again."),
    ];
    Table::new(
        "assumptions",
        "Every value that was not given, with whose value stands in its place.",
        columns,
        assumed.len(),
        move |row, cells| {
            let (value, source, from_memory) = assumed[row];
            cells.extend([
                value.path.as_str().into(),
                value.written.as_str().into(),
                value.si.as_str().into(),
                source.into(),
                if from_memory { "yes" } else { "no" }.into(),
            ]);
        },
    )
}

/// Every limit with its source.
#[must_use]
pub fn limits(scenario: &Scenario) -> Table<'_> {
    let mut whose: Vec<(usize, Vec<&str>)> = Vec::new();
    for (rule, info) in scenario.limits.iter().enumerate() {
        match whose
            .iter_mut()
            .find(|(first, _)| scenario.limits[*first].id == info.id)
        {
            Some((_, subjects)) => subjects.push(&info.subject),
            None => whose.push((rule, vec![&info.subject])),
        }
    }
    let columns = vec![
        Column::text("limit", "Its id."),
        Column::text("whose", "Whom or what it is about."),
        Column::text("rule", "In words."),
        Column::text("source", "Whose limit it is."),
        Column::text("from memory", "yes: the source was recalled, not read again."),
    ];
    Table::new(
        "limits",
        "Every limit that was judged, with its source.",
        columns,
        whose.len(),
        move |row, cells| {
            let (rule, subjects) = &whose[row];
            let info = &scenario.limits[*rule];
            cells.extend([
                info.id.as_str().into(),
                subjects.join(", ").into(),
                info.words.as_str().into(),
                info.source.as_str().into(),
                if info.from_memory { "yes" } else { "no" }.into(),
            ]);
        },
    )
}
