//! `lanthorn proportion`: how long a prop is by a picture of somebody with it.

use anyhow::{Context as _, Result, anyhow, bail};
use clap::Args;
use outline::{Allowances, Cause, Marks, Proportion, proportion};
use prop::quantity::Quantity;

/// What is marked in a picture and known of it.
#[derive(Args)]
pub(crate) struct Sighting {
    /// Crown and soles of the figure, pixels from the left and the top: "812,140 806,1620".
    #[arg(long, value_name = "X,Y X,Y", requires = "prop")]
    pub(crate) figure: Option<String>,
    /// Both ends of the prop in the same picture.
    #[arg(long, value_name = "X,Y X,Y", requires = "figure")]
    prop: Option<String>,
    /// Height of the figure; that of the wearer if you say nothing.
    #[arg(long, value_name = "HEIGHT", requires = "figure")]
    figure_height: Option<String>,
    /// Middle of the whole picture, pixels; that of the figure if you say nothing.
    #[arg(long, value_name = "X,Y", requires = "figure")]
    picture_middle: Option<String>,
    /// How far the prop may lean towards the camera or away from it.
    #[arg(long, default_value = "15 deg", requires = "figure")]
    tilt: String,
    /// How far the camera may look up or down.
    #[arg(long, default_value = "5 deg", requires = "figure")]
    pitch: String,
    /// How much nearer to the camera than the figure, or farther, the prop may be.
    #[arg(long, default_value = "20 cm", requires = "figure")]
    nearer: String,
    /// How far away the camera is at least; twice the figure's height if you say nothing.
    #[arg(long, value_name = "DISTANCE", requires = "figure")]
    away: Option<String>,
    /// The share by which the lens may show one larger than the other.
    #[arg(long, default_value = "2 %", requires = "figure")]
    lens: String,
    /// The share of its height that the figure stands at the least.
    #[arg(long, default_value = "95 %", requires = "figure")]
    stance: String,
    /// How far each mark may be off, pixels.
    #[arg(long, default_value_t = 3.0, requires = "figure")]
    off: f64,
}

/// A length by a picture, for the wearer, and how it comes about in words.
pub(crate) struct Sized {
    pub(crate) length_mm: f64,
    pub(crate) lines: Vec<String>,
}

/// The length, where marks are given.
pub(crate) fn sized(sighting: &Sighting, wearer: Option<&str>) -> Result<Option<Sized>> {
    let (Some(figure), Some(thing)) = (&sighting.figure, &sighting.prop) else { return Ok(None) };
    let read =
        |kind: Quantity, option: &str, text: &str| kind.read(text).map_err(|e| anyhow!("{option} {text:?}: {e}"));
    let wearer_mm = wearer.map(|w| read(Quantity::Length, "--wearer", w)).transpose()?;
    let figure_mm =
        sighting.figure_height.as_deref().map(|f| read(Quantity::Length, "--figure-height", f)).transpose()?;
    let Some(height_mm) = figure_mm.or(wearer_mm) else {
        bail!(
            "how tall is the figure? Say --figure-height, or --wearer to keep the picture's proportions on the wearer"
        );
    };
    let usual = Allowances::usual(height_mm);
    let allowed = Allowances {
        off_px: sighting.off,
        least_stance: read(Quantity::Share, "--stance", &sighting.stance)?,
        tilt_deg: read(Quantity::Angle, "--tilt", &sighting.tilt)?,
        pitch_deg: read(Quantity::Angle, "--pitch", &sighting.pitch)?,
        nearer_mm: read(Quantity::Length, "--nearer", &sighting.nearer)?,
        away_mm: sighting.away.as_deref().map_or(Ok(usual.away_mm), |a| read(Quantity::Length, "--away", a))?,
        lens: read(Quantity::Share, "--lens", &sighting.lens)?,
    };
    let marks = Marks {
        figure_px: pair("--figure", figure)?,
        thing_px: pair("--prop", thing)?,
        middle_px: sighting.picture_middle.as_deref().map(|m| mark("--picture-middle", m)).transpose()?,
    };
    let found = proportion(height_mm, &marks, &allowed).context("the picture gives no length")?;
    let to_wearer = wearer_mm.unwrap_or(height_mm) / height_mm;
    let lines = said(&found, &allowed, wearer_mm.unwrap_or(height_mm), to_wearer);
    Ok(Some(Sized { length_mm: found.length_mm * to_wearer, lines }))
}

/// Tells the length.
pub(crate) fn run(sighting: &Sighting, wearer: Option<&str>) -> Result<()> {
    let Some(sized) = sized(sighting, wearer)? else {
        bail!("mark the figure and the prop in the picture: --figure \"X,Y X,Y\" --prop \"X,Y X,Y\"");
    };
    sized.lines.iter().for_each(|line| println!("{line}"));
    println!("To begin a project with it, give the same marks to: lanthorn new");
    Ok(())
}

fn said(found: &Proportion, allowed: &Allowances, whose_mm: f64, to_wearer: f64) -> Vec<String> {
    let cm = |mm: f64| format!("{:.1} cm", mm * to_wearer / 10.0);
    let mut lines = vec![format!(
        "For a wearer of {:.1} cm the prop is {} long: {} at least and {} at most, everything below at its worst together.",
        whose_mm / 10.0,
        cm(found.length_mm),
        cm(found.least_mm),
        cm(found.most_mm)
    )];
    for (cause, [least, most]) in &found.alone {
        let words = match cause {
            Cause::Marks => format!("marks off by {} pixels", allowed.off_px),
            Cause::Stance => {
                format!("a figure that stands {:.0} % to 100 % of its height", 100.0 * allowed.least_stance)
            }
            Cause::Tilt => format!("a prop that leans by {:.0} degrees towards the camera or away", allowed.tilt_deg),
            Cause::Pitch => format!("a camera that looks up or down by {:.0} degrees", allowed.pitch_deg),
            Cause::Nearer => format!(
                "a prop {:.0} cm nearer or farther than the figure, {:.1} m away",
                allowed.nearer_mm / 10.0,
                allowed.away_mm / 1000.0
            ),
            Cause::Lens => format!("a lens that shows one {:.0} % larger than the other", 100.0 * allowed.lens),
        };
        lines.push(format!("  {} to {}: {words}", cm(*least), cm(*most)));
    }
    lines
}

fn mark(option: &str, text: &str) -> Result<[f64; 2]> {
    let number = |t: &str| t.trim().parse::<f64>().ok().filter(|n| n.is_finite());
    let both = text.trim().split_once(',').and_then(|(x, y)| Some([number(x)?, number(y)?]));
    both.with_context(|| format!("{option} {text:?}: give pixels from the left and from the top, such as 812,140"))
}

fn pair(option: &str, text: &str) -> Result<[[f64; 2]; 2]> {
    let marks: Vec<&str> = text.split_whitespace().collect();
    match marks.as_slice() {
        [one, other] => Ok([mark(option, one)?, mark(option, other)?]),
        _ => bail!("{option} {text:?}: give two marks, such as \"812,140 806,1620\""),
    }
}
