//! Rows of the catalogue: generic kinds of materials, strips, bars and printers, each with its source.

/// How a printer makes a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Process {
    /// Melted filament.
    Filament,
    /// Light-cured resin.
    Resin,
}

/// A printer as the project describes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Printer {
    /// Name in the project.
    pub name: String,
    /// How it prints.
    pub process: Process,
    /// Room: width, depth, height, mm.
    pub bed_mm: [f64; 3],
    /// Kept free at each side of the bed and below the top, mm.
    pub margin_mm: f64,
    /// Layer height, mm.
    pub layer_mm: f64,
    /// Bead width (filament), mm.
    pub bead_mm: f64,
    /// Mean speed while extruding, mm/s (filament).
    pub speed_mm_s: f64,
    /// Time a layer takes at least, s; for resin: time a layer takes.
    pub layer_time_s: f64,
    /// Heating, levelling and cooling per plate, s.
    pub start_time_s: f64,
    /// Steepest overhang from the vertical that prints unsupported, degrees.
    pub overhang_deg: f64,
    /// Gap per side for parts that must slide, mm: least, most.
    pub slide_gap_mm: [f64; 2],
    /// Gap per side for glued locating fits, mm.
    pub glue_gap_mm: f64,
    /// How much narrower a printed slot may come out, mm in all (both sides together).
    pub slot_loss_mm: f64,
}

/// A printing material.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Catalogue name, such as `abs-white`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// How it is printed.
    pub process: Process,
    /// Density, g/cm3: usual, lowest, highest.
    pub density_g_cm3: [f64; 3],
    /// Source of the row.
    pub source: String,
}

/// An addressable light strip.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Catalogue name, such as `strip-60`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Distance between pixels, mm.
    pub pitch_mm: f64,
    /// Width of the board and how much wider it may be, mm.
    pub width_mm: [f64; 2],
    /// Thickness of the bare board, mm.
    pub board_mm: f64,
    /// Height from the board's back to the emitting face, and how much more it may be, mm.
    pub height_mm: [f64; 2],
    /// Side of the square pixel package, mm.
    pub pixel_mm: f64,
    /// Extra height of a solder bump over the board at a splice or wire end, mm.
    pub bump_mm: f64,
    /// Width of the strip's middle that bumps and pixels take up, mm.
    pub crown_mm: f64,
    /// Mass per metre, g.
    pub mass_g_m: f64,
    /// Source of the row.
    pub source: String,
}

/// A stiffening bar: flat or round stock.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Catalogue name, such as `flat-aluminium-12x3`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Section, mm: thickness (across the strip's facing), height. Equal for a round bar.
    pub size_mm: [f64; 2],
    /// Whether it is round.
    pub round: bool,
    /// How much larger the stock may be on each measure, mm.
    pub tolerance_mm: f64,
    /// Density, g/cm3.
    pub density_g_cm3: f64,
    /// Source of the row.
    pub source: String,
}
