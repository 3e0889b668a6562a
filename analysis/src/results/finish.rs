//! From kept pieces to tables and statistics: read once, in order, one piece in memory at a time.

use breathroom_sim::engine::Case;
use breathroom_sim::scenario::Scenario;

use super::export::{Export, Stream};
use super::fans;
use super::folder::FolderError;
use super::frame::Frame;
use super::parts::Blocks;
use super::table::{Cell, Column};
use super::variations::{self, Layout};
use crate::chance::Design;
use crate::study::{Piece, Tally};

/// Writes `variations.csv`, `failures.csv` (if any failed) and `fans.csv`, and gives what statistics need. The case is any of
/// the scenario's.
///
/// # Errors
/// If a file cannot be read or written, or `stopped` says so.
pub fn tables(
    export: &mut Export,
    blocks: &mut Blocks,
    (scenario, case): (&Scenario, &Case),
    (runs, design): (u64, Design),
    stopped: &dyn Fn() -> bool,
) -> Result<(Tally, Option<Frame>), FolderError> {
    let shape = blocks.shape();
    let mut tally = Tally::new(shape, runs, design);
    let layout = Layout::new(scenario, case);
    let mut rows = export.begin(variations::NAME, variations::TITLE, &layout.columns())?;
    let mut failures: Option<Stream> = None;
    let (mut piece, mut cells) = (Piece::new(shape), Vec::new());
    while blocks.next(&mut piece)? {
        if stopped() {
            return Err(FolderError::Stopped);
        }
        tally.add(&piece);
        for i in 0..piece.len() {
            layout.row(&piece, i, &mut cells);
            rows.write(&cells)?;
            if let Err(why) = piece.end(i) {
                let list = match &mut failures {
                    Some(list) => list,
                    None => failures.insert(failures_begun(export)?),
                };
                list.write(&[Cell::Integer((piece.first + i as u64) as i64), Cell::from(why)])?;
            }
        }
    }
    export.end(rows)?;
    if let Some(list) = failures {
        export.end(list)?;
    }
    let mut course = None;
    if shape.series > 0 {
        let fans = fans::table(scenario, blocks.courses())?;
        export.table(&fans)?;
        course = Some(Frame::of(&fans));
    }
    Ok((tally, course))
}

fn failures_begun(export: &Export) -> Result<Stream, FolderError> {
    let columns = [
        Column::integer(
            "variation",
            "Which: `vary --only` with the same seed runs it again alone.",
        ),
        Column::text("cause", "Why it could not be finished."),
    ];
    export.begin(
        "failures",
        "Every variation that could not be finished, and why.",
        &columns,
    )
}
