//! Words within a plot, which give way to each other.

use super::axes::Up;
use super::figure::{LEFT, RIGHT};
use super::mark::Beyond;
use super::svg::{escaped, px, shortened};

/// How thick the hatched edge of a limit is, px.
pub(super) const EDGE: f64 = 7.0;

/// The name of a point beside it: what it says up to the first colon.
pub(super) fn point_name(words: &str, to_the_left: bool) -> String {
    let name = escaped(words.split(':').next().unwrap_or(words));
    let (x, anchor) = if to_the_left {
        ("-8", " text-anchor=\"end\"")
    } else {
        ("8", "")
    };
    format!("<text class=\"tick\" x=\"{x}\" y=\"3.5\"{anchor}>{name}</text>")
}

/// A place along the width, with its words, each row lower than the one before.
pub(super) fn upright_at(
    name: &str,
    x: f64,
    beyond: Option<Beyond>,
    (up, row): (Up, u32),
    scaled: &mut String,
    placed: &mut String,
) {
    let class = if beyond.is_some() { "limit" } else { "upright" };
    let at = px(x);
    if let Some(side) = beyond {
        placed.push_str(&format!(
            "<g class=\"at\" data-x=\"{at}\" transform=\"translate({at},0)\"><rect class=\"edge\" x=\"{}\" y=\"{}\" width=\"{EDGE}\" height=\"{}\"/></g>",
            px(if side == Beyond::Above { 0.0 } else { -EDGE }),
            px(up.top),
            px(up.bottom - up.top)
        ));
    }
    scaled.push_str(&format!(
        "<path class=\"{class}\" d=\"M{at},{}V{}\"/>",
        px(up.top),
        px(up.bottom)
    ));
    let (dx, anchor) = if x > (LEFT + RIGHT) / 2.0 {
        ("-4", " text-anchor=\"end\"")
    } else {
        ("4", "")
    };
    placed.push_str(&format!(
        "<g class=\"at\" data-x=\"{at}\" transform=\"translate({at},0)\"><text class=\"word\" x=\"{dx}\" y=\"{}\"{anchor}>{}</text></g>",
        px(up.top + 11.0 + 13.0 * f64::from(row)),
        escaped(name)
    ));
}

/// Words at the right end, or at the left if others stand there, in full and in short.
pub(super) fn words_at([words, short]: [&str; 2], y: f64, class: &str, taken: &mut Vec<(f64, bool)>, out: &mut String) {
    let is_free = |right: bool, y: f64| !taken.iter().any(|&(at, side)| side == right && (at - y).abs() < 11.0);
    let right = is_free(true, y) || !is_free(false, y);
    taken.push((y, right));
    let y = px(y);
    let (text, short) = (escaped(words), shortened(short));
    out.push_str(&if right {
        let x = px(RIGHT - 4.0);
        format!("<g class=\"right\"><text class=\"{class}\" x=\"{x}\" y=\"{y}\" text-anchor=\"end\"{short}>{text}</text></g>")
    } else {
        format!("<text class=\"{class}\" x=\"{}\" y=\"{y}\"{short}>{text}</text>", px(LEFT + 4.0))
    });
}
