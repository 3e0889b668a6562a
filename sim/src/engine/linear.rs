//! Small dense linear systems, at most one unknown for each compartment.

use crate::air::MOST;

/// Gaussian elimination with partial pivoting of a small system whose right side is column `size`.
///
/// A row that vanishes leaves its unknown at 0.
pub(crate) fn eliminate(matrix: &mut [[f64; MOST + 1]; MOST], size: usize) -> [f64; MOST] {
    for column in 0..size {
        let mut pivot = column;
        for row in column + 1..size {
            if matrix[row][column].abs() > matrix[pivot][column].abs() {
                pivot = row;
            }
        }
        matrix.swap(column, pivot);
        if matrix[column][column] == 0.0 {
            continue;
        }
        for row in column + 1..size {
            let factor = matrix[row][column] / matrix[column][column];
            if factor != 0.0 {
                for k in column..=size {
                    matrix[row][k] -= factor * matrix[column][k];
                }
            }
        }
    }
    let mut x = [0.0; MOST];
    for row in (0..size).rev() {
        let mut rest = matrix[row][size];
        for k in row + 1..size {
            rest -= matrix[row][k] * x[k];
        }
        x[row] = if matrix[row][row] == 0.0 {
            0.0
        } else {
            rest / matrix[row][row]
        };
    }
    x
}
