//! Solution of small dense linear systems. No thermodynamics here.

/// Solves `a·x = b` in place by elimination with row pivoting; `a` is row by row, `b` becomes `x`.
///
/// Returns false when the matrix is singular to working precision.
pub(crate) fn solve(a: &mut [f64], b: &mut [f64]) -> bool {
    let n = b.len();
    if n == 1 {
        b[0] /= a[0];
        return a[0].abs() > f64::MIN_POSITIVE && b[0].is_finite();
    }
    for k in 0..n {
        let mut best = k;
        let mut largest = a[k * n + k].abs();
        for row in k + 1..n {
            let size = a[row * n + k].abs();
            if size > largest {
                largest = size;
                best = row;
            }
        }
        if !(largest > f64::MIN_POSITIVE && largest.is_finite()) {
            return false;
        }
        if best != k {
            for column in k..n {
                a.swap(k * n + column, best * n + column);
            }
            b.swap(k, best);
        }
        let (upper, lower) = a.split_at_mut((k + 1) * n);
        let pivot_row = &upper[k * n..];
        let inverse = 1.0 / pivot_row[k];
        let pivot_value = b[k];
        for (offset, row) in lower.chunks_exact_mut(n).enumerate() {
            let factor = row[k] * inverse;
            if factor != 0.0 {
                for column in k + 1..n {
                    row[column] -= factor * pivot_row[column];
                }
                b[k + 1 + offset] -= factor * pivot_value;
            }
        }
    }
    for k in (0..n).rev() {
        let mut value = b[k];
        for column in k + 1..n {
            value -= a[k * n + column] * b[column];
        }
        b[k] = value / a[k * n + k];
    }
    b.iter().all(|x| x.is_finite())
}

/// Factors the symmetric `a` (row by row) in place into L·Lᵀ, L in the lower triangle, with the
/// reciprocals of its diagonal.
///
/// Returns false when `a` is not positive definite.
pub(crate) fn factor(a: &mut [f64], n: usize) -> bool {
    for k in 0..n {
        let (above, below) = a.split_at_mut(k * n);
        let row = &mut below[..n];
        for j in 0..k {
            let (done, rest) = row.split_at_mut(j);
            let (other, diagonal) = above[j * n..=j * n + j].split_at(j);
            let mut value = rest[0];
            for (x, y) in done.iter().zip(other) {
                value -= x * y;
            }
            rest[0] = value * diagonal[0];
        }
        let mut diagonal = row[k];
        for value in &row[..k] {
            diagonal -= value * value;
        }
        if diagonal.is_nan() || diagonal <= 1e-12 * row[k].abs() {
            return false;
        }
        row[k] = 1.0 / diagonal.sqrt();
    }
    true
}

/// Solves L·x = b in place, with L from [`factor`].
pub(crate) fn forward(l: &[f64], b: &mut [f64]) {
    let n = b.len();
    for (k, row) in l.chunks_exact(n).enumerate() {
        let (known, rest) = b.split_at_mut(k);
        let mut value = rest[0];
        for (factor, x) in row.iter().zip(known) {
            value -= factor * *x;
        }
        rest[0] = value * row[k];
    }
}

/// Solves Lᵀ·x = b in place, with L from [`factor`].
pub(crate) fn backward(l: &[f64], b: &mut [f64]) {
    let n = b.len();
    for (k, row) in l.chunks_exact(n).enumerate().rev() {
        let (rest, known) = b.split_at_mut(k);
        let value = known[0] * row[k];
        known[0] = value;
        for (factor, x) in row.iter().zip(rest) {
            *x -= factor * value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_methods_solve_the_same_system() {
        let a = [4.0, 1.0, 0.5, 1.0, 3.0, -0.2, 0.5, -0.2, 2.0];
        let b = [1.0, -2.0, 0.7];
        let (mut lu, mut x) = (a, b);
        assert!(solve(&mut lu, &mut x));
        let (mut l, mut y) = (a, b);
        assert!(factor(&mut l, 3));
        forward(&l, &mut y);
        backward(&l, &mut y);
        for k in 0..3 {
            let row: f64 = (0..3).map(|j| a[k * 3 + j] * x[j]).sum();
            assert!((row - b[k]).abs() < 1e-14);
            assert!((x[k] - y[k]).abs() < 1e-14);
        }
    }

    #[test]
    fn singular_and_indefinite_systems_are_refused() {
        assert!(!solve(&mut [1.0, 2.0, 2.0, 4.0], &mut [1.0, 1.0]));
        assert!(!solve(&mut [f64::NAN, 2.0, 2.0, 4.0], &mut [1.0, 1.0]));
        assert!(!factor(&mut [1.0, 2.0, 2.0, 1.0], 2));
    }
}
