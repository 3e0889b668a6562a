//! Inner loops over compartments, compiled once for each number of them.

/// Evaluates an expression with the number of compartments, from one to eight, as a constant: `sized!(n, N => f::<N>())`.
macro_rules! sized {
    ($n:expr, $size:ident => $body:expr) => {
        match $n {
            0 | 1 => sized!(@ 1, $size, $body),
            2 => sized!(@ 2, $size, $body),
            3 => sized!(@ 3, $size, $body),
            4 => sized!(@ 4, $size, $body),
            5 => sized!(@ 5, $size, $body),
            6 => sized!(@ 6, $size, $body),
            7 => sized!(@ 7, $size, $body),
            _ => sized!(@ 8, $size, $body),
        }
    };
    (@ $literal:literal, $size:ident, $body:expr) => {{
        const $size: usize = $literal;
        $body
    }};
}

pub(crate) use sized;
