//! Files that are damaged in many ways: each reads or is refused, none ends the program.

use super::*;

/// Pieces put in.
const PIECES: [&str; 22] = [
    "\"",
    "[",
    "]",
    "{",
    "}",
    "=",
    ".",
    "\n",
    "#",
    "-1",
    "nan",
    "inf",
    "1e308",
    "m3",
    "é",
    "\u{1F680}",
    "true",
    "\r",
    "\t",
    "'''",
    "99999999999999999999",
    "tasks",
];

/// A small generator (xorshift, Marsaglia 2003), so that every run tries the same.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % sides.max(1) as u64) as usize
    }

    /// A place between two characters.
    fn place(&mut self, text: &str) -> usize {
        let mut at = self.roll(text.len() + 1);
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }

    fn damage(&mut self, text: &mut String) {
        match self.roll(4) {
            0 => {
                let from = self.place(text);
                let rest = text[from..]
                    .char_indices()
                    .map(|(at, _)| from + at)
                    .nth(1 + self.roll(20))
                    .unwrap_or(text.len());
                text.replace_range(from..rest, "");
            }
            1 => {
                let at = self.place(text);
                let piece = PIECES[self.roll(PIECES.len())];
                text.insert_str(at, piece);
            }
            turn => {
                let mut lines: Vec<&str> = text.lines().collect();
                let (a, b) = (self.roll(lines.len()), self.roll(lines.len()));
                if turn == 2 && !lines.is_empty() {
                    lines.swap(a, b);
                } else if !lines.is_empty() {
                    lines.remove(a);
                }
                *text = lines.join("\n");
            }
        }
    }
}

#[test]
fn damage_is_survived() {
    let mut dice = Dice(0x5eed);
    let mut drawn = Drawn::default();
    let (mut read, mut refused) = (0, 0);
    let whole = [starter(), sorties::sortie()];
    for n in 0..2000 {
        let mut text = whole[n % 2].clone();
        for _ in 0..=dice.roll(4) {
            dice.damage(&mut text);
        }
        match try_read(&text, &["air.co2=1 mmHg"]) {
            Ok(scenario) => {
                scenario.draw_into(&draws::Constant(0.4), &mut drawn);
                read += 1;
            }
            Err(faults) => {
                assert!(!faults.is_empty());
                assert!(faults.iter().all(|f| !f.render().is_empty()));
                refused += 1;
            }
        }
    }
    assert!(read > 100 && refused > 100, "{read} read, {refused} refused");
}
