//! Smooth random textures over the plane, fixed by a seed.

/// Mixes a lattice point and a seed to 0..1.
///
/// # Source
/// The finaliser of SplitMix64 (Steele, Lea & Flood 2014), from memory; only its evenness matters here.
fn lattice(x: i64, y: i64, seed: u64) -> f32 {
    let mut z = seed
        ^ (x as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ (y as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 40) as f32 / (1_u64 << 24) as f32
}

/// Value noise, 0 to 1, with features about 1 unit long.
pub(crate) fn value_noise(x: f64, y: f64, seed: u64) -> f32 {
    let (fx, fy) = (x.floor(), y.floor());
    let (ix, iy) = (fx as i64, fy as i64);
    let ease = |f: f64| (f * f * (3.0 - 2.0 * f)) as f32;
    let (u, v) = (ease(x - fx), ease(y - fy));
    let top = lattice(ix, iy, seed) * (1.0 - u) + lattice(ix + 1, iy, seed) * u;
    let low = lattice(ix, iy + 1, seed) * (1.0 - u) + lattice(ix + 1, iy + 1, seed) * u;
    top * (1.0 - v) + low * v
}

/// Distance to the nearest of one random point per cell, 0 to about 1.2.
pub(crate) fn cell_noise(x: f64, y: f64, seed: u64) -> f32 {
    let (fx, fy) = (x.floor(), y.floor());
    let mut best = 4.0_f32;
    for dy in -1..=1 {
        for dx in -1..=1 {
            let (cx, cy) = (fx as i64 + dx, fy as i64 + dy);
            let px = cx as f32 + lattice(cx, cy, seed) - x as f32;
            let py = cy as f32 + lattice(cx, cy, seed ^ 0x5555) - y as f32;
            best = best.min(px * px + py * py);
        }
    }
    best.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_is_smooth_and_fills_its_range() {
        let (mut low, mut high) = (1.0_f32, 0.0_f32);
        for i in 0..4000 {
            let x = f64::from(i) * 0.37;
            let here = value_noise(x, 3.1, 7);
            assert!((here - value_noise(x + 1e-4, 3.1, 7)).abs() < 1e-3);
            low = low.min(here);
            high = high.max(here);
        }
        assert!(low < 0.1 && high > 0.9, "{low} {high}");
    }
}
