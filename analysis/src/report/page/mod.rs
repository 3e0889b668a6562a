//! A page: what a report says first, then its evidence, in one file that needs nothing else.

mod markdown;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::figure::{self, Data, Figure, Key, PATTERNS, STYLE};
use super::svg::slug;

const PAGE_STYLE: &str = include_str!("style.css");
const LOOK: &str = include_str!("look.css");
const FIGURES_SCRIPT: &str = include_str!("figures.js");
const TABLES_SCRIPT: &str = include_str!("tables.js");

/// Style sheet of figures wherever they stand: their colours by day and by night, in variables, and their frames.
#[must_use]
pub fn figures_style() -> String {
    format!("{LOOK}{STYLE}")
}

/// The script that stretches, links and tells drawings.
#[must_use]
pub fn figures_script() -> &'static str {
    FIGURES_SCRIPT
}

/// The hatches that drawings use: once in a page.
#[must_use]
pub fn patterns() -> String {
    format!("<svg width=\"0\" height=\"0\" class=\"patterns\" aria-hidden=\"true\">{PATTERNS}</svg>")
}

/// A page.
#[derive(Clone, Debug, Default)]
pub struct Page {
    /// What it is of: "vary, 1000 variations, seed 1".
    pub kind: String,
    /// Its title.
    pub title: String,
    /// The answer, the most important first.
    pub answer: Vec<String>,
    /// Whether what was asked is met; `None` where nothing was judged.
    pub met: Option<bool>,
    /// Sentences that stand after the first picture.
    pub notes: Vec<String>,
    /// What stands on the first screen below the answer.
    pub first: Option<Figure>,
    /// The caution.
    pub caution: String,
    /// The evidence.
    pub sections: Vec<Section>,
}

/// A section of a page.
#[derive(Clone, Debug, Default)]
pub struct Section {
    /// Its title; also, in lower case with hyphens behind `part-`, where it is found.
    pub title: String,
    /// What it is about.
    pub about: String,
    /// What stands in it.
    pub parts: Vec<Part>,
}

/// A part of a section.
#[derive(Clone, Debug)]
pub enum Part {
    /// A figure.
    Figure(Figure),
    /// Figures beside each other where there is room.
    Pair(Vec<Figure>),
    /// A table.
    Table(Sheet),
    /// Names with what belongs to them.
    Pairs(Vec<(String, String)>),
    /// Sentences, one to a line.
    List(Vec<String>),
    /// A part of `summary.md`: its title, and HTML.
    Written(String, String),
}

/// The sections of a `summary.md`, under one heading.
#[must_use]
pub fn in_tables(markdown: &str) -> Section {
    let parts = markdown::sections(markdown)
        .into_iter()
        .map(|(title, html)| Part::Written(title, html));
    Section::new("In tables", "What summary.md has.", parts.collect())
}

/// A table in a page.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    /// Names it within the page.
    pub id: String,
    /// What it is.
    pub caption: String,
    /// Its columns.
    pub heads: Vec<Head>,
    /// Its cells, row by row.
    pub rows: Vec<Vec<SheetCell>>,
    /// It can be sorted and filtered.
    pub sorts: bool,
    /// It stays closed until it is asked for.
    pub closed: bool,
}

/// A column of a [`Sheet`].
#[derive(Clone, Debug, Default)]
pub struct Head {
    /// Its header.
    pub words: String,
    /// It is of numbers.
    pub number: bool,
    /// It is hidden until details are asked for.
    pub detail: bool,
    /// What it means.
    pub meaning: String,
}

/// A cell of a [`Sheet`].
#[derive(Clone, Debug, Default)]
pub struct SheetCell {
    /// Its words.
    pub words: String,
    /// What it is sorted by, if that is not its words.
    pub value: Option<String>,
    /// "stands-out", "chosen", "long" or nothing.
    pub class: &'static str,
}

impl Page {
    /// All figures in order.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        let parts = self.sections.iter().flat_map(|section| &section.parts);
        self.first.iter().chain(parts.flat_map(|part| match part {
            Part::Figure(figure) => std::slice::from_ref(figure),
            Part::Pair(figures) => figures.as_slice(),
            _ => &[],
        }))
    }

    /// The page as HTML.
    #[must_use]
    pub fn html(&self) -> String {
        let sections: Vec<&Section> = self
            .sections
            .iter()
            .filter(|section| !section.parts.is_empty())
            .collect();
        let met = match self.met {
            Some(true) => "met",
            Some(false) => "not-met",
            None => "",
        };
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";
                    title { (self.title) " \u{2013} " (self.kind) }
                    link rel="icon" href="data:,";
                    style { (PreEscaped(figures_style())) (PreEscaped(PAGE_STYLE)) }
                }
                body {
                    (PreEscaped(patterns()))
                    header.top {
                        p.kind { "Breathroom \u{b7} " (self.kind) }
                        h1 { (self.title) }
                        div.answer {
                            div class=(met) {
                                @for sentence in &self.answer { p { (prose(sentence)) } }
                            }
                        }
                    }
                    div.wrap { aside.caution aria-label="Caution" { p { (self.caution) } } }
                    nav aria-label="Parts of this report" {
                        ul {
                            @for section in &sections { li { a href={ "#" (section.anchor()) } { (section.title) } } }
                        }
                    }
                    main {
                        @if let Some(figure) = &self.first { (drawn(figure)) }
                        @for note in &self.notes { p { (prose(note)) } }
                        @for section in &sections { (section.markup()) }
                    }
                    footer { p { "Made by Breathroom " (env!("CARGO_PKG_VERSION")) ". Figures come from the files beside this page; datapackage.json says what each column is." } }
                    div.zoomed hidden role="status" { output {} button type="button" { "Whole run" } }
                    script { (PreEscaped(FIGURES_SCRIPT)) }
                    script { (PreEscaped(TABLES_SCRIPT)) }
                }
            }
        };
        page.into_string()
    }
}

impl Section {
    /// A section.
    #[must_use]
    pub fn new(title: &str, about: &str, parts: Vec<Part>) -> Self {
        Self {
            title: title.to_owned(),
            about: about.to_owned(),
            parts,
        }
    }

    /// Whether it has the first figures over time: those that a word is said about.
    fn has_times(&self) -> bool {
        let is_timed = |figure: &Figure| figure.across.is_some_and(|across| across.along == figure::Along::Time);
        self.title.contains("timeline")
            && self.parts.iter().any(|part| match part {
                Part::Figure(figure) => is_timed(figure),
                Part::Pair(figures) => figures.iter().any(is_timed),
                _ => false,
            })
    }

    /// Begins so that no figure or table has the same.
    fn anchor(&self) -> String {
        format!("part-{}", slug(&self.title))
    }

    fn markup(&self) -> Markup {
        html! {
            section aria-labelledby=(self.anchor()) {
                h2 id=(self.anchor()) { (self.title) }
                @if !self.about.is_empty() { p { (self.about) } }
                @if self.has_times() {
                    p.hint {
                        "Point at a curve, or focus it and use the arrow keys, for its values and what goes on then. Drag across it, or press + and \u{2212}, to zoom all \
                         times together; a double click or 0 shows the whole run."
                    }
                }
                @for part in &self.parts {
                    @match part {
                        Part::Figure(figure) => (drawn(figure)),
                        Part::Pair(figures) => div.pair { @for figure in figures { (drawn(figure)) } },
                        Part::Table(sheet) => (sheet.markup()),
                        Part::Pairs(pairs) => dl.pairs { @for (name, value) in pairs { dt { (name) } dd { (value) } } },
                        Part::Written(title, html) => div.written { h3 { (title) } (PreEscaped(html)) },
                        Part::List(lines) => ul { @for line in lines { li { (line) } } },
                    }
                }
            }
        }
    }
}

/// A sentence in which what is to be typed stands between backticks.
fn prose(sentence: &str) -> Markup {
    html! {
        @for (index, part) in sentence.split('`').enumerate() {
            @if index % 2 == 1 { code { (part) } } @else { (part) }
        }
    }
}

/// A figure with its title, words, keys, drawing, readout and numbers.
#[must_use]
pub fn drawn(figure: &Figure) -> Markup {
    let timed = figure.across.is_some_and(|across| across.along == figure::Along::Time);
    html! {
        figure id=(figure.id) {
            figcaption {
                h3 { (figure.title) }
                p { (figure.says) }
                @if !figure.keys.is_empty() {
                    ul.keys { @for key in &figure.keys { li { (PreEscaped(swatch(key))) (key.name) } } }
                }
            }
            (PreEscaped(figure.svg()))
            @if timed { p.readout { span {} } }
            @if !figure.data.rows.is_empty() { (numbers(&figure.data)) }
        }
    }
}

fn swatch(key: &Key) -> String {
    format!(
        "<svg viewBox=\"0 0 24 11\" aria-hidden=\"true\"><g class=\"drawing\">{}</g></svg>",
        figure::sample(key, 1.0, 5.5)
    )
}

fn numbers(data: &Data) -> Markup {
    html! {
        details {
            summary { "Numbers" }
            div.wide {
                table {
                    caption { (data.note) }
                    thead { tr { @for header in &data.headers { th scope="col" { (header) } } } }
                    tbody { @for row in &data.rows { tr { @for cell in row { td { (cell) } } } } }
                }
            }
        }
    }
}

impl Sheet {
    fn markup(&self) -> Markup {
        let has_details = self.heads.iter().any(|head| head.detail);
        let table = html! {
            @if self.sorts || has_details {
                p.filter {
                    @if self.sorts {
                        label for={ (self.id) "-filter" } { "Show rows with" }
                        input type="search" id={ (self.id) "-filter" } data-filters=(self.id) autocomplete="off";
                        output data-counts=(self.id) {}
                    }
                    @if has_details {
                        label { input type="checkbox" data-details=(self.id) autocomplete="off"; " all columns" }
                    }
                }
            }
            div.wide tabindex="0" role="region" aria-label=(self.caption) {
                table id=(self.id) class=(if self.sorts { "sorts brief" } else { "brief" }) {
                    caption { (self.caption) }
                    thead {
                        tr {
                            @for head in &self.heads {
                                th scope="col" class=(class_of(head, "")) title=(head.meaning) { (head.words) }
                            }
                        }
                    }
                    tbody {
                        @for row in &self.rows {
                            tr {
                                @for (head, cell) in self.heads.iter().zip(row) {
                                    td class=(class_of(head, cell.class)) data-value=[cell.value.as_deref()] { (cell.words) }
                                }
                            }
                        }
                    }
                }
            }
        };
        if self.closed {
            html! { details class="printed" { summary { (self.caption) } (table) } }
        } else {
            table
        }
    }
}

fn class_of(head: &Head, class: &str) -> String {
    let parts = [
        if head.number { "n" } else { "" },
        if head.detail { "detail" } else { "" },
        class,
    ];
    parts
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}
