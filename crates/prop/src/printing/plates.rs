//! Which pieces go on which plate of which printer, and when all of it is done.

use super::nest::{Bed, Footprint, Placing, nest};
use super::share::{Job, ShareError, share};
use super::time::plate_time;
use crate::catalogue::Printer;
use crate::finding::Band;
use solid::DVec2;
use std::collections::BTreeMap;

/// A piece to print.
#[derive(Clone, Debug)]
pub struct Task {
    /// What it is printed in: pieces of one plate share it.
    pub material: String,
    /// The printers that may print it, at least one.
    pub on: Vec<Load>,
}

/// A piece on one of its printers.
#[derive(Clone, Debug)]
pub struct Load {
    /// Which printer.
    pub printer: usize,
    /// What each layer takes, s, see [`super::PrintEstimate::layers_s`].
    pub layers_s: Vec<f64>,
    /// What it takes of the bed.
    pub footprint: Footprint,
}

/// A plate that the maker fills by hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Reserved {
    /// Which printer.
    pub printer: usize,
    /// The pieces on it, of one material.
    pub tasks: Vec<usize>,
}

/// A plate as it is printed.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// Which printer.
    pub printer: usize,
    /// The pieces, by number; [`Placing::piece`] is the task's place in the list.
    pub placed: Vec<Placing>,
    /// Time for it, s, with its start.
    pub time_s: Band,
    /// Which of the reserved plates it is.
    pub reserved: Option<usize>,
    /// Whether what is on it fits the bed.
    pub fits: bool,
}

/// All plates.
#[derive(Clone, Debug, PartialEq)]
pub struct Allotment {
    /// By printer, then in the order in which to print them.
    pub plates: Vec<Laid>,
    /// Time until the last printer is done, s.
    pub elapsed_s: Band,
    /// For each reserved plate the tasks that it cannot hold; they are printed like the others.
    pub left_out: Vec<Vec<usize>>,
}

impl Allotment {
    /// The printer of a task.
    pub fn printer_of(&self, task: usize) -> Option<usize> {
        self.plates.iter().find(|p| p.placed.iter().any(|at| at.piece == task)).map(|p| p.printer)
    }
}

/// Other sharings that are laid out in full to see whether they are done sooner.
const MOST_TRIED: usize = 60;

/// Shares pieces out between printers and lays them on plates.
///
/// The sharing that is done soonest counting each piece by itself is laid out in full; then single pieces move to other
/// printers as long as the plates are done sooner so, or as soon with fewer plates (filament shares layer changes and
/// starts, resin cures all of a plate at once). On a printer, the plates come in the order of their lowest piece, so that
/// gluing can begin at the butt. The same tasks always give the same plates.
///
/// # Errors
/// [`ShareError`] for a task without a printer or with a time that cannot be.
pub fn allot(printers: &[Printer], tasks: &[Task], reserved: &[Reserved]) -> Result<Allotment, ShareError> {
    let mut shop = Shop { printers, tasks, laid: BTreeMap::new(), reserved: Vec::new() };
    let mut left_out = Vec::new();
    let mut bound = vec![false; tasks.len()];
    for (number, plate) in reserved.iter().enumerate() {
        let (laid, left) = shop.lay_reserved(number, plate);
        laid.iter().flat_map(|l| &l.placed).for_each(|at| bound[at.piece] = true);
        shop.reserved.extend(laid);
        left_out.push(left);
    }
    let free: Vec<usize> = (0..tasks.len()).filter(|t| !bound[*t]).collect();
    let jobs: Vec<Job> = free
        .iter()
        .map(|t| Job {
            on: tasks[*t].on.iter().map(|l| (l.printer, plate_time(&printers[l.printer], &[&l.layers_s]))).collect(),
        })
        .collect();
    let mut printer_of: Vec<(usize, usize)> = free.iter().copied().zip(share(&jobs)?.printer).collect();
    let mut best = shop.rank(&printer_of);
    let mut tried = 0;
    'better: loop {
        for at in 0..printer_of.len() {
            let (task, now) = printer_of[at];
            for load in tasks[task].on.iter().filter(|l| l.printer != now) {
                if tried == MOST_TRIED {
                    break 'better;
                }
                tried += 1;
                printer_of[at].1 = load.printer;
                let rank = shop.rank(&printer_of);
                if rank < best {
                    best = rank;
                    continue 'better;
                }
                printer_of[at].1 = now;
            }
        }
        break;
    }
    let mut plates = shop.all(&printer_of);
    plates.sort_by_key(|p| (p.printer, p.placed.iter().map(|at| at.piece).min()));
    let elapsed_s = elapsed(printers.len(), &plates);
    Ok(Allotment { plates, elapsed_s, left_out })
}

/// The longest sum of plates on one printer, each end by itself.
fn elapsed(printers: usize, plates: &[Laid]) -> Band {
    let mut sum = vec![Band::exact(0.0); printers];
    for plate in plates {
        sum[plate.printer] = sum[plate.printer].plus(plate.time_s);
    }
    let longest = |end: fn(&Band) -> f64| sum.iter().map(end).fold(0.0, f64::max);
    Band { value: longest(|b| b.value), low: longest(|b| b.low), high: longest(|b| b.high) }
}

struct Shop<'a> {
    printers: &'a [Printer],
    tasks: &'a [Task],
    /// Plates of a printer by what is on it, so that none is laid out twice.
    laid: BTreeMap<(usize, Vec<usize>), Vec<Laid>>,
    reserved: Vec<Laid>,
}

impl Shop<'_> {
    fn load(&self, task: usize, printer: usize) -> Option<&Load> {
        self.tasks[task].on.iter().find(|l| l.printer == printer)
    }

    fn footprint(&self, task: usize, printer: usize) -> Footprint {
        let none = Footprint { outline: Vec::new(), brim_mm: 0.0 };
        self.load(task, printer).map_or(none, |l| l.footprint.clone())
    }

    fn bed(&self, printer: usize) -> Bed {
        let p = &self.printers[printer];
        Bed { size_mm: [p.bed_mm[0], p.bed_mm[1]], margin_mm: p.margin_mm, spacing_mm: p.spacing_mm }
    }

    /// Time until the last printer is done, ms, number of plates, time of all plates, ms.
    fn rank(&mut self, printer_of: &[(usize, usize)]) -> (u64, usize, u64) {
        let ms = |s: f64| (s * 1000.0).round() as u64;
        let plates = self.all(printer_of);
        let all = plates.iter().map(|p| ms(p.time_s.value)).sum();
        (ms(elapsed(self.printers.len(), &plates).value), plates.len(), all)
    }

    fn all(&mut self, printer_of: &[(usize, usize)]) -> Vec<Laid> {
        let mut plates = self.reserved.clone();
        for printer in 0..self.printers.len() {
            let mut here: Vec<usize> = printer_of.iter().filter(|(_, p)| *p == printer).map(|(t, _)| *t).collect();
            here.sort_by(|a, b| self.tasks[*a].material.cmp(&self.tasks[*b].material).then(a.cmp(b)));
            let materials: Vec<Vec<usize>> = here
                .chunk_by(|a, b| self.tasks[*a].material == self.tasks[*b].material)
                .map(<[usize]>::to_vec)
                .collect();
            for same in materials {
                let key = (printer, same);
                if !self.laid.contains_key(&key) {
                    let made = self.lay(printer, &key.1);
                    self.laid.insert(key.clone(), made);
                }
                plates.extend(self.laid[&key].iter().cloned());
            }
        }
        plates
    }

    /// Plates for tasks of one material on one printer.
    fn lay(&self, printer: usize, tasks: &[usize]) -> Vec<Laid> {
        let footprints: Vec<Footprint> = tasks.iter().map(|t| self.footprint(*t, printer)).collect();
        let bed = self.bed(printer);
        let nest = nest(&bed, &footprints);
        // What fits no bed is shown on one by itself.
        let outsize = nest.outsize.iter().map(|i| {
            let middle = middle(&footprints[*i].outline);
            vec![Placing { piece: *i, turn_deg: 0.0, shift: DVec2::from(bed.size_mm) / 2.0 - middle }]
        });
        let fitting = nest.plates.into_iter().map(|plate| (plate, true));
        fitting
            .chain(outsize.map(|plate| (plate, false)))
            .map(|(plate, fits)| self.finished(printer, plate, tasks, fits, None))
            .collect()
    }

    fn finished(
        &self,
        printer: usize,
        plate: Vec<Placing>,
        tasks: &[usize],
        fits: bool,
        reserved: Option<usize>,
    ) -> Laid {
        let mut placed: Vec<Placing> = plate.into_iter().map(|at| Placing { piece: tasks[at.piece], ..at }).collect();
        placed.sort_by_key(|at| at.piece);
        let layers: Vec<&[f64]> =
            placed.iter().filter_map(|at| self.load(at.piece, printer)).map(|l| l.layers_s.as_slice()).collect();
        let time_s = plate_time(&self.printers[printer], &layers);
        Laid { printer, placed, time_s, reserved, fits }
    }

    /// A plate filled by hand, and what is left out: the last of the list first, until the rest fits.
    fn lay_reserved(&self, number: usize, plate: &Reserved) -> (Option<Laid>, Vec<usize>) {
        let mut held = plate.tasks.clone();
        let mut left = Vec::new();
        loop {
            let footprints: Vec<Footprint> = held.iter().map(|t| self.footprint(*t, plate.printer)).collect();
            let nest = nest(&self.bed(plate.printer), &footprints);
            if nest.outsize.is_empty() && nest.plates.len() == 1 {
                let only = nest.plates.into_iter().next().unwrap_or_default();
                return (Some(self.finished(plate.printer, only, &held, true, Some(number))), left);
            }
            match nest.outsize.last().copied().or(held.len().checked_sub(1)) {
                Some(out) => left.insert(0, held.remove(out)),
                None => return (None, left),
            }
        }
    }
}

fn middle(outline: &[DVec2]) -> DVec2 {
    let low = outline.iter().copied().reduce(DVec2::min).unwrap_or(DVec2::ZERO);
    let high = outline.iter().copied().reduce(DVec2::max).unwrap_or(DVec2::ZERO);
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::super::trial::filament;
    use super::*;
    use crate::catalogue::Process;

    fn resin() -> Printer {
        Printer {
            name: "resin".into(),
            process: Process::Resin,
            bed_mm: [100.0, 60.0, 160.0],
            margin_mm: 3.0,
            layer_time_s: 8.0,
            start_time_s: 600.0,
            spacing_mm: 3.0,
            pace: [1.0; 3],
            ..filament()
        }
    }

    fn square(side: f64) -> Footprint {
        let outline = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| DVec2::new(x, y) * side);
        Footprint { outline: outline.to_vec(), brim_mm: 0.0 }
    }

    fn task(material: &str, printers: &[usize], side: f64, layers: usize, layer_s: f64) -> Task {
        let load = |p: &usize| Load { printer: *p, layers_s: vec![layer_s; layers], footprint: square(side) };
        Task { material: material.into(), on: printers.iter().map(load).collect() }
    }

    #[test]
    fn a_resin_plate_takes_as_long_as_its_tallest_piece() {
        // A bed of 94 x 54 holds four squares of 20 mm in each of two rows; the tallest has 1000 layers.
        let tasks: Vec<Task> = (1..=6).map(|k| task("clear", &[0], 20.0, k * 100 + 400, 8.0)).collect();
        let all = allot(&[resin()], &tasks, &[]).unwrap();
        assert_eq!(all.plates.len(), 1);
        assert_eq!(all.elapsed_s, Band::exact(600.0 + 1000.0 * 8.0));
    }

    #[test]
    fn two_resin_printers_do_not_take_one_tall_piece_each() {
        // Sharing by single times puts the two tall pieces on two printers with the low ones behind; on plates, the tall
        // ones together and the low ones together are done as soon, and with fewer plates.
        let tasks: Vec<Task> = [1000, 1000, 300, 300].map(|n| task("clear", &[0, 1], 20.0, n, 8.0)).to_vec();
        let all = allot(&[resin(), resin()], &tasks, &[]).unwrap();
        assert_eq!(all.elapsed_s, Band::exact(600.0 + 8000.0));
        assert!(all.plates.len() <= 2);
    }

    #[test]
    fn materials_do_not_share_a_plate_and_filament_adds_up() {
        let printer = Printer { pace: [1.0; 3], ..filament() };
        let tasks = [task("a", &[0], 30.0, 10, 30.0), task("b", &[0], 30.0, 10, 30.0), task("a", &[0], 30.0, 20, 30.0)];
        let all = allot(std::slice::from_ref(&printer), &tasks, &[]).unwrap();
        let on: Vec<Vec<usize>> = all.plates.iter().map(|p| p.placed.iter().map(|at| at.piece).collect()).collect();
        assert_eq!(on, [vec![0, 2], vec![1]]);
        let layers = &tasks[2].on[0].layers_s;
        assert_eq!(all.plates[0].time_s, plate_time(&printer, &[&layers[..10], layers]));
        let sum = all.plates[0].time_s.plus(all.plates[1].time_s);
        assert_eq!(all.elapsed_s, sum);
    }

    #[test]
    fn a_plate_by_hand_holds_what_fits_and_names_the_rest() {
        let tasks: Vec<Task> = (0..6).map(|_| task("a", &[0, 1], 100.0, 10, 30.0)).collect();
        let by_hand = Reserved { printer: 1, tasks: vec![5, 4, 3, 2, 1] };
        let all = allot(&[filament(), filament()], &tasks, &[by_hand]).unwrap();
        // Four squares of 100 mm and 5 mm between fit 210 mm.
        assert_eq!(all.left_out, [vec![1]]);
        let first = all.plates.iter().find(|p| p.reserved == Some(0)).unwrap();
        assert_eq!(first.placed.iter().map(|at| at.piece).collect::<Vec<_>>(), [2, 3, 4, 5]);
        assert_eq!(first.printer, 1);
        // The other two are on the idle printer.
        assert_eq!((all.printer_of(0), all.printer_of(1)), (Some(0), Some(0)));
    }

    #[test]
    fn what_fits_no_bed_is_laid_alone_and_said() {
        let tasks = [task("a", &[0], 100.0, 10, 30.0), task("a", &[0], 300.0, 10, 30.0)];
        let all = allot(&[filament()], &tasks, &[]).unwrap();
        assert_eq!(all.plates.iter().map(|p| p.fits).collect::<Vec<_>>(), [true, false]);
        assert_eq!(all.plates[1].placed[0].to_bed(DVec2::ZERO), DVec2::new(-40.0, -40.0));
    }
}
