//! Bars that lie: one row to a thing, its words above its bar, about a common line of nought.

use super::figure::{Across, Along, Data, Figure, Key, RIGHT, width_of};
use super::svg::{escaped, px, shortened, value};

/// Height of a row's words and of its bar, px.
const WORDS: f64 = 14.0;
const BAR: f64 = 12.0;
const GAP: f64 = 8.0;
const ABOVE: f64 = 6.0;
/// Bars begin further to the left than plots: they have no upright axis.
const FROM: f64 = 4.0;

/// A row: what it is, what it says at its end, and what is drawn, in parts of the width to the right of nought.
#[derive(Clone, Debug, Default)]
pub struct Row {
    /// Its name.
    pub name: String,
    /// Its figures in words.
    pub figures: String,
    /// The same where there is little room; empty: no other.
    pub in_short: String,
    /// It is beyond.
    pub beyond: bool,
    /// From and to, of the soft bar.
    pub soft: Option<[f64; 2]>,
    /// From and to, of the solid bar.
    pub solid: Option<[f64; 2]>,
    /// A stroke across it: the middle.
    pub middle: Option<f64>,
    /// A bracket: a bound.
    pub bound: Option<f64>,
    /// What 1 is, in the row's own unit.
    pub scale: f64,
}

/// Rows about a line of nought that stands at `nought` of the width (0 to 1); `left` and `right` say what is on either side.
#[must_use]
pub fn figure(
    head: (&str, &str, &str),
    rows: &[Row],
    nought: f64,
    sides: [&str; 2],
    keys: Vec<Key>,
    data: Data,
) -> Figure {
    let (id, title, says) = head;
    // px of a part: 0 is nought, 1 the right end, below 0 to the left of it.
    let zero = FROM + (RIGHT - FROM) * nought;
    let at = |part: f64| (zero + part * (RIGHT - zero)).clamp(FROM, RIGHT);
    let (mut scaled, mut fixed) = (String::new(), String::new());
    let mut top = ABOVE + 12.0;
    for row in rows {
        let y = top + WORDS;
        let class = if row.beyond { "broken" } else { "kept" };
        fixed.push_str(&format!(
            "<text x=\"{0}\" y=\"{1}\" class=\"row-name\">{2}{3}</text><g class=\"right\"><text x=\"{4}\" y=\"{1}\" text-anchor=\"end\"{5}{7}>{6}</text></g>",
            px(FROM), px(y - 3.0), if row.beyond { "\u{25b2} " } else { "" }, escaped(&row.name), px(RIGHT),
            if row.beyond { " class=\"limit-word\"" } else { "" }, escaped(&row.figures),
            shortened(&row.in_short)
        ));
        scaled.push_str(&format!(
            "<g class=\"row\" data-name=\"{}\" data-scale=\"{}\"><rect class=\"track\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{BAR}\"/>",
            escaped(&row.name),
            value(row.scale),
            px(FROM),
            px(y),
            px(RIGHT - FROM)
        ));
        for (part, soft) in [(row.soft, " soft"), (row.solid, "")] {
            if let Some([from, to]) = part {
                let (left, right) = (at(from.min(to)), at(from.max(to)));
                scaled.push_str(&format!(
                    "<rect class=\"{class}{soft}\" data-from=\"{}\" data-to=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                    value(from), value(to), px(left), px(if soft.is_empty() { y + 2.0 } else { y + 3.0 }), px((right - left).max(1.0)),
                    if soft.is_empty() { BAR - 4.0 } else { BAR - 6.0 }
                ));
            }
        }
        if let Some(middle) = row.middle {
            scaled.push_str(&format!(
                "<path class=\"middle\" d=\"M{},{}v{BAR}\"/>",
                px(at(middle)),
                px(y)
            ));
        }
        if let Some(bound) = row.bound {
            scaled.push_str(&format!(
                "<path class=\"bound\" d=\"M{0},{1}h-4v{2}h4\"/>",
                px(at(bound) + 4.0),
                px(y - 1.0),
                px(BAR + 2.0)
            ));
        }
        scaled.push_str("</g>");
        scaled.push_str(&format!(
            "<path class=\"zero\" d=\"M{},{}V{}\"/>",
            px(zero),
            px(y - 1.5),
            px(y + BAR + 1.5)
        ));
        top = y + BAR + GAP;
    }
    let [left, right] = sides.map(escaped);
    let side = |words: &str, x: f64, anchor: &str| {
        format!(
            "<g class=\"at\" data-x=\"{0}\" transform=\"translate({0},0)\"><text class=\"unit\" x=\"{1}\" y=\"{2}\" text-anchor=\"{anchor}\">{words}</text></g>",
            px(zero),
            px(x),
            px(ABOVE + 6.0)
        )
    };
    let body = format!(
        "<g class=\"scaled\">{scaled}</g><g class=\"placed\">{}{}</g>{fixed}",
        // Where there is no room for it, nothing lies there.
        if zero > FROM + 14.0 + width_of(&left) {
            side(&left, -6.0, "end")
        } else {
            String::new()
        },
        side(&right, 6.0, "start")
    );
    Figure {
        id: id.to_owned(),
        title: title.to_owned(),
        says: says.to_owned(),
        keys,
        height: top + 4.0,
        // Nought and ends stand in each row: the axis only stretches.
        across: Some(Across {
            along: Along::Number,
            from: 0.0,
            to: RIGHT - FROM,
            left: FROM,
        }),
        body,
        data,
    }
}
