//! The books: where the light of some photons went.

/// What became of light that was launched, in units of one photon. Everything but `launched` and `roulette` is an end;
/// the ends together are `launched + roulette`.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tally {
    pub(crate) launched: f64,
    /// Added by the roulette less what it took.
    pub(crate) roulette: f64,
    /// Left through no patch: out of the cavity through an opening.
    pub(crate) escaped: f64,
    pub(crate) lost: f64,
    pub(crate) coats: f64,
    pub(crate) glue: f64,
    pub(crate) solids: Vec<f64>,
    pub(crate) things: Vec<f64>,
    /// Flights that began inside a body without having entered it, and were put right.
    pub(crate) n_mended: u64,
    /// Light per patch; `touched` lists those that are not 0, each once.
    patches: Vec<f64>,
    touched: Vec<u32>,
    /// A patch that was named but doesn't exist.
    pub(crate) stray: Option<u32>,
}

impl Tally {
    pub(crate) fn new(n_solids: usize, n_things: usize, n_patches: u32) -> Self {
        Self {
            solids: vec![0.0; n_solids],
            things: vec![0.0; n_things],
            patches: vec![0.0; n_patches as usize],
            ..Self::default()
        }
    }

    /// Counts light that leaves through a patch.
    pub(crate) fn out(&mut self, patch: u32, light: f64) {
        match self.patches.get_mut(patch as usize) {
            Some(sum) => {
                if *sum == 0.0 && light > 0.0 {
                    self.touched.push(patch);
                }
                *sum += light;
            }
            None => self.stray = Some(self.stray.map_or(patch, |p| p.min(patch))),
        }
    }

    /// Patch and light of every patch that got some, by patch; they are empty afterwards.
    pub(crate) fn take_lit(&mut self) -> Vec<(u32, f64)> {
        let mut touched = std::mem::take(&mut self.touched);
        touched.sort_unstable();
        touched.into_iter().map(|p| (p, std::mem::take(&mut self.patches[p as usize]))).collect()
    }

    /// The totals alone, without room for patches; they are 0 afterwards, and the patches stay.
    pub(crate) fn take_totals(&mut self) -> Self {
        let blank = Self {
            solids: vec![0.0; self.solids.len()],
            things: vec![0.0; self.things.len()],
            patches: std::mem::take(&mut self.patches),
            touched: std::mem::take(&mut self.touched),
            ..Self::default()
        };
        std::mem::replace(self, blank)
    }

    /// Adds another's books, but for its patches.
    pub(crate) fn add_totals(&mut self, other: &Tally) {
        self.launched += other.launched;
        self.roulette += other.roulette;
        self.escaped += other.escaped;
        self.lost += other.lost;
        self.coats += other.coats;
        self.glue += other.glue;
        self.n_mended += other.n_mended;
        for (sum, more) in [(&mut self.solids, &other.solids), (&mut self.things, &other.things)] {
            for (sum, more) in sum.iter_mut().zip(more) {
                *sum += more;
            }
        }
        self.stray = match (self.stray, other.stray) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
    }
}
