//! Mistakes about finish, cost and stock, each told at its place.

use super::*;
use crate::catalogue::{Amount, Tool, Unit};
use crate::project::Pattern;

#[test]
fn finish_wraps_prices_and_stock_are_read() {
    let p = read(&format!(
        "{LEAST}{}",
        "[finish]\nspray = \"airbrush\"\nfiller = \"body-filler\"\npaste = false\nseam = \"0.5 mm\"\nskim = false\n\
         [wrap.grip]\nkind = \"strap-20\"\nin = \"grip\"\nstations = [\"60 mm\", \"390 mm\"]\npattern = \"crossed\"\nwidth = \"18 mm\"\n\
         [coat.own]\nkind = \"paint-gold\"\ncovers = \"8 m2/l\"\nby = \"brush\"\n\
         [cost]\ncurrency = \"GBP\"\nrate = 0.86\nmost = \"150 GBP\"\nspare = \"5 %\"\n\
         [price.strap-20]\neach = [\"5 GBP\", \"6 GBP\"]\n[has.wire-22-red]\namount = \"2 m\"\n[has.cell-18650]\namount = \"1 piece\"\n"
    ));
    assert_eq!((p.finish.spray, p.finish.filler.name.as_str(), p.finish.seam_mm), (Tool::Airbrush, "body-filler", 0.5));
    assert!(p.finish.paste.is_none() && !p.finish.skim);
    let wrap = &p.finish.wraps[0];
    assert_eq!((wrap.row.width_mm, wrap.pattern, wrap.stations_mm), (18.0, Pattern::Crossed, [60.0, 390.0]));
    assert_eq!((p.cost.most, p.cost.spare), (Some(150.0), 0.05));
    assert_eq!(p.cost.price("strap-20").unwrap().each, [5.0, 6.0]);
    assert!((p.cost.price("paint-gold").unwrap().each[0] - 7.0 * 0.86).abs() < 1e-12);
    assert_eq!(p.cost.has[0].amount, Amount { count: 2.0, unit: Unit::Metre });
}

#[test]
fn what_has_no_row_is_told() {
    check_more(
        "[body.blade]\ncoats = [\"primer-wite\"]\n[finish]\nfiller = \"puty\"\n[wrap.grip]\nkind = \"chord-3\"\nin = \"grip\"\n\
         stations = [\"60 mm\", \"390 mm\"]\n[has.abs-whit]\namount = \"1 kg\"\n",
        expect![""],
    );
}

#[test]
fn stock_that_cannot_be_is_told() {
    check_more("[has.abs-white]\namount = \"-400 g\"\n", expect![""]);
    check_more("[has.abs-white]\namount = \"2 pieces\"\n", expect![""]);
    check_more("[has.cell-18650]\namount = \"two\"\n", expect![""]);
    check_more("[has.cell-18650]\namount = 2\n", expect![""]);
}

#[test]
fn money_that_cannot_be_is_told() {
    check_more("[cost]\ncurrency = \"GBP\"\n", expect![""]);
    check_more("[cost]\ncurrency = \"pounds\"\n", expect![""]);
    check_more("[price.putty]\neach = [\"9 EUR\", \"4 EUR\"]\n", expect![""]);
    check_more("[price.putty]\neach = \"-4 EUR\"\n", expect![""]);
    check_more("[price.putty]\neach = \"4 USD\"\n", expect![""]);
}

#[test]
fn a_coat_that_never_dries_cannot_be_planned() {
    check_more(
        "[coat.mine]\ntitle = \"Mine\"\nrole = \"paint\"\ntowards-light = \"50 %\"\nthrough = \"1 %\"\n[body.blade]\ncoats = [\"primer-grey\", \"mine\"]\n\
         [plan]\nstart = \"2026-03-02\"\n",
        expect![""],
    );
}

#[test]
fn a_coat_says_its_coverage_once() {
    check_more("[coat.own]\nkind = \"paint-gold\"\ncovers = \"8 m2/l\"\nfilm = \"20 um\"\n", expect![""]);
    check_more("[coat.own]\nkind = \"paint-gold\"\ngrips = [\"oak\"]\n", expect![""]);
}

#[test]
fn a_wrap_must_get_on() {
    check_more(
        "[wrap.grip]\nkind = \"strap-20\"\nin = \"grip\"\nstations = [\"60 mm\", \"390 mm\"]\napart = \"-19 mm\"\n",
        expect![""],
    );
}
