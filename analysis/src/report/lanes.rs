//! Who does what, and what is open, on or wrong, over time: one lane below the other, on the axis of the curves.

use super::axes::bottom_axis;
use super::figure::{Across, Along, Data, Drawn, Figure, Key, LEFT, RIGHT, width_of};
use super::svg::{escaped, px, value};

/// Height of a lane's words and of its boxes, px.
const WORDS: f64 = 12.0;
const BOX: f64 = 16.0;
const GAP: f64 = 5.0;
const ABOVE: f64 = 4.0;
const BELOW: f64 = 34.0;

/// How a box looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// What someone does, by how much CO2 they make: 0 least to 3 most; and whether they are outside.
    Doing(usize, bool),
    /// In a compartment, by its index.
    In(usize),
    /// Outside.
    Out,
    /// Open, on, worn.
    State,
    /// Closed, off.
    Rests,
    /// Waits for something.
    Waits,
    /// A fault, an alarm, a time beyond a limit.
    Wrong,
    /// A part of a scale from 0, plenty, to 4, nothing left.
    Heat(usize),
    /// Nothing is known, or nothing comes.
    Blank,
}

impl Look {
    fn class(self) -> &'static str {
        match self {
            Self::Doing(0, _) => "box load0",
            Self::Doing(1, _) => "box load1",
            Self::Doing(2, _) => "box load2",
            Self::Doing(..) => "box load3",
            Self::In(0) => "box place first",
            Self::In(_) => "box place",
            Self::Out => "box place out",
            Self::State => "box state",
            Self::Rests => "box rests",
            Self::Waits => "box waits",
            Self::Wrong => "box wrong",
            Self::Heat(0) => "cell heat0",
            Self::Heat(1) => "cell heat1",
            Self::Heat(2) => "cell heat2",
            Self::Heat(3) => "cell heat3",
            Self::Heat(_) => "cell heat4",
            Self::Blank => "cell heat-none",
        }
    }
}

/// A stretch of time in a lane.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// From, h.
    pub from: f64,
    /// To, h.
    pub to: f64,
    /// Short words, shown where they fit.
    pub name: String,
    /// What it is in full.
    pub says: String,
    /// Its look.
    pub look: Look,
}

/// A lane.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Lane {
    /// Whom or what it is of.
    pub name: String,
    /// Its stretches, in order of time.
    pub stretches: Vec<Stretch>,
    /// Instants: when, and what happened.
    pub pins: Vec<(f64, String)>,
}

/// Draws lanes from the start to `end_h`.
#[must_use]
pub fn figure(id: &str, title: &str, says: &str, lanes: &[Lane], end_h: f64) -> Figure {
    let across = Across::new(Along::Time, 0.0, end_h);
    let (mut boxes, mut placed, mut fixed) = (String::new(), String::new(), String::new());
    let mut top = ABOVE;
    for lane in lanes {
        let y = top + WORDS;
        fixed.push_str(&format!(
            "<text class=\"lane-name\" x=\"{}\" y=\"{}\">{}</text>",
            px(LEFT),
            px(y - 2.5),
            escaped(&lane.name)
        ));
        boxes.push_str(&format!(
            "<g class=\"lane\" data-name=\"{}\"><rect class=\"track stretch\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{BOX}\"/>",
            escaped(&lane.name), px(LEFT), px(y), px(RIGHT - LEFT)
        ));
        for stretch in &lane.stretches {
            boxed(stretch, across, y, &mut boxes, &mut placed);
        }
        boxes.push_str("</g>");
        for (at, says) in &lane.pins {
            let x = px(across.at(*at));
            let y = px(y);
            placed.push_str(&format!(
                "<g class=\"at\" data-x=\"{x}\" data-y=\"{y}\" transform=\"translate({x},{y})\"><path class=\"pin\" data-at=\"{}\" \
                 data-lane=\"{}\" d=\"M0,{BOX}L-3.5,9H3.5Z\"><title>{}</title></path></g>",
                value(*at),
                escaped(&lane.name),
                escaped(says)
            ));
        }
        top = y + BOX + GAP;
    }
    let clip = format!("{id}-clip");
    let body = format!(
        "<clipPath id=\"{clip}\"><rect class=\"stretch\" x=\"{0}\" y=\"0\" width=\"{1}\" height=\"{2}\"/></clipPath>\
         <g class=\"lanes\"><g clip-path=\"url(#{clip})\"><g class=\"boxes\">{boxes}</g><g class=\"placed\">{placed}</g></g>{fixed}</g>{3}",
        px(LEFT),
        px(RIGHT - LEFT),
        px(top),
        bottom_axis(across, "hours from the start", top)
    );
    Figure {
        id: id.to_owned(),
        title: title.to_owned(),
        says: says.to_owned(),
        keys: keys(lanes),
        height: top + BELOW,
        across: Some(across),
        body,
        data: data(lanes),
    }
}

fn boxed(stretch: &Stretch, across: Across, y: f64, boxes: &mut String, placed: &mut String) {
    let (left, right) = (across.at(stretch.from), across.at(stretch.to));
    let rect = |class: &str, of: &str| {
        format!(
            "<rect class=\"{class}\"{of} x=\"{}\" y=\"{}\" width=\"{}\" height=\"{BOX}\"/>",
            px(left),
            px(y),
            px((right - left).max(0.0))
        )
    };
    let times = format!(
        " data-from=\"{}\" data-to=\"{}\"",
        value(stretch.from),
        value(stretch.to)
    );
    let says = format!("{times} data-says=\"{}\"", escaped(&stretch.says));
    boxes.push_str(&rect(stretch.look.class(), &says));
    if matches!(stretch.look, Look::Doing(_, true)) {
        boxes.push_str(&rect("away", &times));
    }
    if stretch.name.is_empty() {
        return;
    }
    let fits = width_of(&stretch.name) + 4.0 <= right - left;
    let dark = matches!(stretch.look, Look::Doing(3, _) | Look::State | Look::Heat(3..));
    placed.push_str(&format!(
        "<text class=\"within{}\" data-x=\"{}\" data-x1=\"{}\" x=\"{}\" y=\"{}\"{}>{}</text>",
        match stretch.look {
            // Over a hatch.
            Look::Wrong | Look::Waits | Look::Out | Look::Doing(..=2, true) => " word",
            _ if dark => " on-dark",
            _ => "",
        },
        px(left),
        px(right),
        px(left + 3.0),
        px(y + 12.0),
        if fits { "" } else { " visibility=\"hidden\"" },
        escaped(&stretch.name)
    ));
}

/// Keys of a scale from plenty to nothing: the last is hatched.
#[must_use]
pub fn scale_keys(words: &[&str]) -> Vec<Key> {
    let classes = ["cell heat0", "cell heat1", "cell heat2", "cell heat3", "box wrong"];
    let pairs = words.iter().zip(classes);
    pairs
        .map(|(name, class)| Key {
            name: (*name).to_owned(),
            class: class.to_owned(),
            drawn: Drawn::Area,
        })
        .collect()
}

fn keys(lanes: &[Lane]) -> Vec<Key> {
    let has = |is: &dyn Fn(Look) -> bool| lanes.iter().any(|lane| lane.stretches.iter().any(|of| is(of.look)));
    let mut keys = Vec::new();
    let mut add = |there: bool, name: &str, class: &str| {
        if there {
            keys.push(Key {
                name: name.to_owned(),
                class: class.to_owned(),
                drawn: Drawn::Area,
            });
        }
    };
    add(
        has(&|look| matches!(look, Look::Doing(0, _))),
        "makes least CO2",
        "box load0",
    );
    add(
        has(&|look| matches!(look, Look::Doing(3, _))),
        "makes most CO2",
        "box load3",
    );
    add(has(&|look| matches!(look, Look::Doing(_, true))), "outside", "away");
    add(
        has(&|look| matches!(look, Look::In(1..))),
        "in another compartment",
        "box place",
    );
    add(has(&|look| look == Look::State), "open, on, worn", "box state");
    add(has(&|look| look == Look::Waits), "waits", "box waits");
    add(
        has(&|look| look == Look::Wrong),
        "fault, alarm or beyond a limit",
        "box wrong",
    );
    keys
}

/// Most rows of the table behind lanes.
const MOST_ROWS: usize = 200;

fn data(lanes: &[Lane]) -> Data {
    let mut rows: Vec<(f64, Vec<String>)> = Vec::new();
    for lane in lanes {
        for of in &lane.stretches {
            rows.push((
                of.from,
                vec![clock(of.from), clock(of.to), lane.name.clone(), of.says.clone()],
            ));
        }
        for (at, says) in &lane.pins {
            rows.push((*at, vec![clock(*at), String::new(), lane.name.clone(), says.clone()]));
        }
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let all = rows.len();
    rows.truncate(MOST_ROWS);
    Data {
        headers: ["from", "to", "who or what", "what"].map(str::to_owned).to_vec(),
        note: if all > MOST_ROWS {
            format!("The first {MOST_ROWS} of {all}; events.csv has all.")
        } else {
            "events.csv has each event.".to_owned()
        },
        rows: rows.into_iter().map(|(_, row)| row).collect(),
    }
}

fn clock(hours: f64) -> String {
    crate::results::numbers::clock(hours)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_lie_at_their_times_and_all_are_told() {
        let stretch = |from, to, name: &str, look| Stretch {
            from,
            to,
            name: name.to_owned(),
            says: format!("lead: {name}"),
            look,
        };
        let lane = Lane {
            name: "lead".to_owned(),
            stretches: vec![
                stretch(0.0, 8.0, "sleep", Look::Doing(0, false)),
                stretch(8.0, 8.1, "breakfast", Look::Doing(1, false)),
                stretch(12.0, 16.0, "out", Look::Doing(3, true)),
            ],
            pins: vec![(9.0, "tank ran dry".to_owned())],
        };
        let figure = figure("who", "Who", "Says.", &[lane], 24.0);
        // 8 h of 24 are a third of the plot.
        assert!(figure.body.contains(&format!(
            "x=\"{}\" y=\"16\" width=\"{}\"",
            px(LEFT),
            px((RIGHT - LEFT) / 3.0)
        )));
        // Too narrow for its words.
        assert!(figure.body.contains("visibility=\"hidden\">breakfast"));
        assert_eq!(figure.body.matches("class=\"away\"").count(), 1);
        let says: Vec<&str> = figure.data.rows.iter().map(|row| row[3].as_str()).collect();
        assert_eq!(says, ["lead: sleep", "lead: breakfast", "tank ran dry", "lead: out"]);
        let keys: Vec<&str> = figure.keys.iter().map(|key| key.name.as_str()).collect();
        assert_eq!(keys, ["makes least CO2", "makes most CO2", "outside"]);
    }
}
