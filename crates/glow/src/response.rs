//! What each pixel does to each patch: the light of any picture is a sum of it.

mod bytes;

pub use bytes::ResponseError;

/// For each pixel the share of its flux that leaves through each patch of outer surface, with what became of the rest.
///
/// It is sparse: a pixel has entries only for patches that its photons found.
///
/// ```
/// # use glow::Response;
/// # fn picture(response: &Response) -> Vec<f32> {
/// // All pixels at half their flux: what leaves each patch, in units of one pixel's flux.
/// response.lit(&vec![0.5; response.n_pixels()])
/// # }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Response {
    n_patches: u32,
    /// Start of each pixel's entries, and the end of the last.
    start: Vec<usize>,
    /// Patches, rising within a pixel.
    patch: Vec<u32>,
    share: Vec<f32>,
    /// Per patch: standard deviation of what leaves it when all pixels are lit with flux 1.
    sigma: Vec<f32>,
    /// Where the light of all pixels went.
    pub totals: Totals,
}

/// Where light went, as shares of what all pixels launched. `out`, `escaped`, `lost` and all that is absorbed are together
/// `1 + roulette`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Totals {
    /// Photons followed.
    pub n_photons: u64,
    /// Left through patches.
    pub out: f64,
    /// Left through an opening of the cavity without passing a wall.
    pub escaped: f64,
    /// Lost by the tracer: light that found no way out of a solid. More than 1e-4 means a faulty mesh.
    pub lost: f64,
    /// Added by the Russian roulette, less what it took: noise about 0.
    pub roulette: f64,
    /// Absorbed by coats and linings.
    pub coats: f64,
    /// Absorbed by glue lines.
    pub glue: f64,
    /// Absorbed in each solid.
    pub solids: Vec<f64>,
    /// Absorbed by each opaque thing.
    pub things: Vec<f64>,
    /// Flights per photon that began within a body that they hadn't entered (bodies that overlap) and were put right.
    pub mended: f64,
    /// Noise that was reached: standard deviation of a square centimetre of watched surface, against its mean.
    pub noise: f64,
}

impl Totals {
    /// What is wanting in the books, as a share of what was launched: rounding, or a fault of the tracer.
    pub fn unbalanced(&self) -> f64 {
        let absorbed = self.coats + self.glue + self.solids.iter().sum::<f64>() + self.things.iter().sum::<f64>();
        self.out + self.escaped + self.lost + absorbed - 1.0 - self.roulette
    }
}

impl Response {
    /// Gathers entries, one list a pixel with rising patches, each below `n_patches`.
    pub(crate) fn gathered(n_patches: u32, rows: &[Vec<(u32, f64)>], sigma: Vec<f32>, totals: Totals) -> Self {
        let mut start = vec![0];
        let (mut patch, mut share) = (Vec::new(), Vec::new());
        for row in rows {
            patch.extend(row.iter().map(|(p, _)| *p));
            share.extend(row.iter().map(|(_, x)| *x as f32));
            start.push(patch.len());
        }
        Self { n_patches, start, patch, share, sigma, totals }
    }

    /// How many pixels.
    pub fn n_pixels(&self) -> usize {
        self.start.len() - 1
    }

    /// How many patches.
    pub fn n_patches(&self) -> usize {
        self.n_patches as usize
    }

    /// How many entries are kept.
    pub fn n_entries(&self) -> usize {
        self.patch.len()
    }

    /// Patches, rising, and the shares of a pixel's flux that leave through them. Empty for a pixel that isn't there.
    pub fn row(&self, pixel: usize) -> impl Iterator<Item = (u32, f32)> {
        let ends = (self.start.get(pixel).copied(), self.start.get(pixel + 1).copied());
        let range = if let (Some(from), Some(to)) = ends { from..to } else { 0..0 };
        self.patch[range.clone()].iter().copied().zip(self.share[range].iter().copied())
    }

    /// What leaves each patch when each pixel gives `weights` (its flux, in any unit; missing ones give nothing).
    pub fn lit(&self, weights: &[f32]) -> Vec<f32> {
        let mut light = vec![0.0; self.n_patches()];
        for (pixel, weight) in weights.iter().enumerate().take(self.n_pixels()) {
            if *weight != 0.0 {
                for (patch, share) in self.row(pixel) {
                    light[patch as usize] += share * weight;
                }
            }
        }
        light
    }

    /// Per patch: standard deviation, from the spread of batches, of what leaves it when all pixels are lit with flux 1.
    pub fn sigma(&self) -> &[f32] {
        &self.sigma
    }
}
