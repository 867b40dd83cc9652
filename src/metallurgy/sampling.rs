//! Samples of what may be: a Latin hypercube with a fixed seed, so that the same question gives the same answer.

/// A stream of numbers in [0, 1): SplitMix64 (Steele, Lea and Flood, OOPSLA 2014), small and good enough for shuffling.
struct Stream(u64);

impl Stream {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// A Latin hypercube (McKay, Beckman and Conover, Technometrics 21 (1979) 239–245): `size` points in `dimensions`
/// coordinates, each coordinate taking every one of `size` equal slices of [0, 1) once.
pub fn latin_hypercube(dimensions: usize, size: usize, seed: u64) -> Vec<Vec<f64>> {
    let mut stream = Stream(seed);
    let mut points = vec![vec![0.0; dimensions]; size];
    for dimension in 0..dimensions {
        let mut slices: Vec<usize> = (0..size).collect();
        for last in (1..size).rev() {
            slices.swap(last, (stream.unit() * (last + 1) as f64) as usize);
        }
        for (point, slice) in points.iter_mut().zip(slices) {
            point[dimension] = (slice as f64 + stream.unit()) / size as f64;
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_slice_is_met_once() {
        let points = latin_hypercube(3, 50, 7);
        for dimension in 0..3 {
            let mut slices: Vec<usize> =
                points.iter().map(|point| (point[dimension] * 50.0) as usize).collect();
            slices.sort_unstable();
            assert_eq!(slices, (0..50).collect::<Vec<_>>());
        }
    }

    #[test]
    fn one_seed_one_sample() {
        assert_eq!(latin_hypercube(4, 20, 1), latin_hypercube(4, 20, 1));
        assert_ne!(latin_hypercube(4, 20, 1), latin_hypercube(4, 20, 2));
    }
}
