//! Runs streamed: variations run side by side, and pieces of them are handed on in order.
//!
//! A ring of a few pieces is filled by whichever thread comes to a variation; a piece whose variations have all run is handed
//! to the sink, in order, while the threads go on with the next ones. Memory is that of the ring, whatever the number of
//! runs. A variation depends on its index alone (its luck is keyed by it), so neither the number of threads nor the order of
//! work shows in it.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use breathroom_sim::engine::{Outcome, RunError};

use super::courses::{POINTS, TRACED};
use super::piece::{PIECE, Piece, Shape, piece_at};
use super::{Simulate, StudyError};
use crate::chance::Draws;

/// How to run, which no bit of a result depends on.
pub struct Running<'a> {
    /// The threads.
    pub pool: &'a rayon::ThreadPool,
    /// Told how many of the variations are done, from several threads, so not always in order.
    pub progress: &'a (dyn Fn(u64) + Sync),
    /// Once it is set no further variation begins.
    pub stop: &'a AtomicBool,
    /// Whether the courses of the first variations are kept. Changes no other bit.
    pub traced: bool,
    /// A failure in words.
    pub words: &'a (dyn Fn(&RunError) -> String + Sync),
}

/// The threads of a study; 0 for as many as there are cores.
///
/// # Errors
/// If they cannot be started.
pub fn pool(threads: usize) -> Result<rayon::ThreadPool, StudyError> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|error| StudyError::NoThreads(error.to_string()))
}

/// Runs the variations of `ranges` (each starting at a multiple of [`PIECE`]) and hands them to `sink` piece by piece, in order.
///
/// # Errors
/// [`StudyError::Stopped`] if it was stopped, after what was whole by then was handed on; what the sink says.
pub fn stream<S: Simulate, E: From<StudyError>>(
    simulate: &S,
    draws: &Draws,
    ranges: &[Range<u64>],
    running: &Running<'_>,
    mut sink: impl FnMut(&Piece) -> Result<(), E>,
) -> Result<(), E> {
    let threads = running.pool.current_num_threads();
    let mut shape = Shape::of(simulate);
    if !running.traced {
        shape.series = 0;
    }
    // Two pieces to work on and two to hand on, and more where many threads share a piece.
    let ring = Ring::new(shape, 4 + threads / (PIECE as usize / 4), threads, ranges);
    let done = AtomicU64::new(0);
    let given = running.pool.in_place_scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|_| work(simulate, draws, &ring, running, &done));
        }
        // If the sink refuses or panics, the threads must not wait for it for ever.
        let _ends = Ends(&ring);
        ring.give(&mut sink)
    });
    if given? {
        Ok(())
    } else {
        Err(StudyError::Stopped.into())
    }
}

/// What one thread does until there is nothing left to do.
fn work<S: Simulate>(simulate: &S, draws: &Draws, ring: &Ring<'_>, running: &Running<'_>, done: &AtomicU64) {
    // A thread that panics must not be waited for.
    let _leaves = Leaves(ring);
    let mut worker = simulate.worker();
    let mut values = vec![f64::NAN; ring.shape.inputs];
    let mut course = vec![f32::NAN; ring.shape.series * POINTS];
    let mut outcome = Outcome::default();
    while let Some(taken) = ring.take(running.stop) {
        values.fill(f64::NAN);
        let luck = draws.variation(taken.k);
        let result = if taken.k < TRACED && !course.is_empty() {
            course.fill(f32::NAN);
            simulate.run_traced(&luck, &mut worker, &mut values, &mut course, &mut outcome)
        } else {
            simulate.run_into(&luck, &mut worker, &mut values, &mut outcome)
        };
        let result = result.map(|()| &outcome);
        let duration = simulate.duration(&worker);
        let mut piece = lock(&ring.pieces[taken.slot]);
        piece.fill(taken.place, &values, &course, (result, duration), running.words);
        drop(piece);
        ring.filled(taken.slot);
        (running.progress)(done.fetch_add(1, Ordering::Relaxed) + 1);
    }
}

/// A variation to run, and where what it gives belongs.
struct Taken {
    k: u64,
    slot: usize,
    place: usize,
}

/// Pieces in the making, each in its slot until it is handed on.
struct Ring<'a> {
    shape: Shape,
    pieces: Vec<Mutex<Piece>>,
    state: Mutex<State<'a>>,
    /// Told to threads that wait for a slot.
    room: Condvar,
    /// Told to whoever hands on.
    ready: Condvar,
}

struct State<'a> {
    /// What is not begun: the rest of one range, and those after it.
    rest: Range<u64>,
    ranges: &'a [Range<u64>],
    /// The plan has no more pieces.
    planned: bool,
    /// Pieces begun, and pieces handed on.
    begun: usize,
    given: usize,
    /// Of the piece begun last, its first variation, and those that no one has taken.
    first: u64,
    open: Range<u64>,
    /// By slot, variations that have not run.
    missing: Vec<usize>,
    /// Threads at work.
    threads: usize,
    /// No one is to begin anything.
    ended: bool,
}

impl State<'_> {
    fn next_piece(&mut self) -> Option<Range<u64>> {
        while self.rest.is_empty() {
            let (first, others) = self.ranges.split_first()?;
            (self.rest, self.ranges) = (first.clone(), others);
        }
        let piece = piece_at(&self.rest);
        self.rest.start = piece.end;
        Some(piece)
    }
}

impl<'a> Ring<'a> {
    fn new(shape: Shape, slots: usize, threads: usize, ranges: &'a [Range<u64>]) -> Self {
        Self {
            shape,
            pieces: (0..slots).map(|_| Mutex::new(Piece::new(shape))).collect(),
            state: Mutex::new(State {
                rest: 0..0,
                ranges,
                planned: false,
                begun: 0,
                given: 0,
                first: 0,
                open: 0..0,
                missing: vec![0; slots],
                threads,
                ended: false,
            }),
            room: Condvar::new(),
            ready: Condvar::new(),
        }
    }

    /// The next variation to run; `None` if there is nothing left to do.
    fn take(&self, stop: &AtomicBool) -> Option<Taken> {
        let mut state = lock(&self.state);
        loop {
            if state.ended || stop.load(Ordering::Relaxed) {
                return None;
            }
            if let Some(k) = state.open.next() {
                return Some(Taken {
                    k,
                    slot: (state.begun - 1) % self.pieces.len(),
                    place: (k - state.first) as usize,
                });
            }
            if state.begun - state.given == self.pieces.len() {
                state = self.room.wait(state).unwrap_or_else(PoisonError::into_inner);
                continue;
            }
            let Some(range) = state.next_piece() else {
                state.planned = true;
                return None;
            };
            let slot = state.begun % self.pieces.len();
            lock(&self.pieces[slot]).reset(range.clone());
            state.missing[slot] = (range.end - range.start) as usize;
            state.begun += 1;
            state.first = range.start;
            state.open = range;
        }
    }

    /// One more variation of a slot has run.
    fn filled(&self, slot: usize) {
        let mut state = lock(&self.state);
        state.missing[slot] -= 1;
        if state.missing[slot] == 0 {
            self.ready.notify_all();
        }
    }

    /// Hands pieces to the sink, in order, until there are no more; whether all were.
    fn give<E>(&self, sink: &mut impl FnMut(&Piece) -> Result<(), E>) -> Result<bool, E> {
        loop {
            let mut state = lock(&self.state);
            let slot = loop {
                let slot = state.given % self.pieces.len();
                if state.given < state.begun && state.missing[slot] == 0 {
                    break slot;
                }
                if state.threads == 0 {
                    return Ok(state.planned && state.given == state.begun);
                }
                state = self.ready.wait(state).unwrap_or_else(PoisonError::into_inner);
            };
            drop(state);
            sink(&lock(&self.pieces[slot]))?;
            lock(&self.state).given += 1;
            self.room.notify_all();
        }
    }
}

/// Ends all work when it goes.
struct Ends<'a, 'r>(&'a Ring<'r>);

impl Drop for Ends<'_, '_> {
    fn drop(&mut self) {
        lock(&self.0.state).ended = true;
        self.0.room.notify_all();
    }
}

/// A thread that leaves the work when it goes; if it panics, so do the others.
struct Leaves<'a, 'r>(&'a Ring<'r>);

impl Drop for Leaves<'_, '_> {
    fn drop(&mut self) {
        let mut state = lock(&self.0.state);
        state.threads -= 1;
        state.ended |= std::thread::panicking();
        drop(state);
        self.0.ready.notify_all();
        self.0.room.notify_all();
    }
}

fn lock<T: ?Sized>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
