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
        expect![[r#"
            prop.toml, line 7, column 7: body.blade: this body is lit, but there is no [light] table
                7 | [body.blade]
                  |       ^^^^^
              to mend it: add [light], and below it strip = "strip-60"; or write role = "plain" here

            prop.toml, line 8, column 10: body.blade.coats[1]: the catalogue has no "primer-wite"
                8 | coats = ["primer-wite"]
                  |          ^^^^^^^^^^^^^
              to mend it: did you mean "primer-white"?

            prop.toml, line 10, column 10: finish.filler: the catalogue has no "puty"
               10 | filler = "puty"
                  |          ^^^^^^
              to mend it: did you mean "putty"?

            prop.toml, line 12, column 8: wrap.grip.kind: the catalogue has no "chord-3"
               12 | kind = "chord-3"
                  |        ^^^^^^^^^
              to mend it: did you mean "cord-3"?

            prop.toml, line 15, column 6: has.abs-whit: the catalogue has no "abs-whit"
               15 | [has.abs-whit]
                  |      ^^^^^^^^
              to mend it: did you mean "abs-white"?
        "#]],
    );
}

#[test]
fn stock_that_cannot_be_is_told() {
    check_more(
        "[has.abs-white]\namount = \"-400 g\"\n",
        expect![[r#"
        prop.toml, line 8, column 10: has.abs-white.amount: -400 g is less than nothing, or more than there is
            8 | amount = "-400 g"
              |          ^^^^^^^^
          to mend it: write how much it is: "400 g", "250 ml", "2 m", "300 cm2" or "3 pieces"
    "#]],
    );
    check_more(
        "[has.abs-white]\namount = \"2 pieces\"\n",
        expect![[r#"
        prop.toml, line 8, column 10: has.abs-white.amount: "abs-white" is counted in g, and this is in pieces
            8 | amount = "2 pieces"
              |          ^^^^^^^^^^
          to mend it: write it in g
    "#]],
    );
    check_more(
        "[has.cell-18650]\namount = \"two\"\n",
        expect![[r#"
        prop.toml, line 8, column 10: has.cell-18650.amount: "two" is not a number
            8 | amount = "two"
              |          ^^^^^
          to mend it: write how much it is: "400 g", "250 ml", "2 m", "300 cm2" or "3 pieces"
    "#]],
    );
    check_more(
        "[has.cell-18650]\namount = 2\n",
        expect![[r#"
        prop.toml, line 8, column 10: has.cell-18650.amount: this must be a text in quotes, not a bare number
            8 | amount = 2
              |          ^
          to mend it: put double quotes round it
    "#]],
    );
}

#[test]
fn money_that_cannot_be_is_told() {
    check_more(
        "[cost]\ncurrency = \"GBP\"\n",
        expect![[r#"
        prop.toml, line 8, column 12: cost.currency: the catalogue's prices are in EUR, and nothing says what that is in GBP
            8 | currency = "GBP"
              |            ^^^^^
          to mend it: add rate = 1.1, as many GBP as one EUR is
    "#]],
    );
    check_more(
        "[cost]\ncurrency = \"pounds\"\n",
        expect![[r#"
        prop.toml, line 8, column 12: cost.currency: "pounds" is no code of a currency
            8 | currency = "pounds"
              |            ^^^^^^^^
          to mend it: write three capitals, for example "EUR"
    "#]],
    );
    check_more(
        "[price.putty]\neach = [\"9 EUR\", \"4 EUR\"]\n",
        expect![[r#"
        prop.toml, line 8, column 8: price.putty.each: the lowest price is higher than the highest
            8 | each = ["9 EUR", "4 EUR"]
              |        ^^^^^^^^^^^^^^^^^^
          to mend it: write the lower one first
    "#]],
    );
    check_more(
        "[price.putty]\neach = \"-4 EUR\"\n",
        expect![[r#"
        prop.toml, line 8, column 8: price.putty.each: -4 EUR is no price
            8 | each = "-4 EUR"
              |        ^^^^^^^^
          to mend it: a price is nothing or more, and less than a million
    "#]],
    );
    check_more(
        "[price.putty]\neach = \"4 USD\"\n",
        expect![[r#"
        prop.toml, line 8, column 8: price.putty.each: prices are in EUR here, and this is in USD
            8 | each = "4 USD"
              |        ^^^^^^^
          to mend it: convert it, or name the currency: [cost] currency = "..." with its rate
    "#]],
    );
}

#[test]
fn a_coat_that_never_dries_cannot_be_planned() {
    check_more(
        "[coat.mine]\ntitle = \"Mine\"\nrole = \"paint\"\ntowards-light = \"50 %\"\nthrough = \"1 %\"\n[body.blade]\ncoats = [\"primer-grey\", \"mine\"]\n\
         [plan]\nstart = \"2026-03-02\"\n",
        expect![[r#"
            prop.toml, line 12, column 7: body.blade: this body is lit, but there is no [light] table
               12 | [body.blade]
                  |       ^^^^^
              to mend it: add [light], and below it strip = "strip-60"; or write role = "plain" here

            prop.toml, line 13, column 25: body.blade.coats[2]: "mine" does not say how it dries, and the work is planned
               13 | coats = ["primer-grey", "mine"]
                  |                         ^^^^^^
              to mend it: add recoat = "20 min" and hardens = "24 h" to [coat.mine]
        "#]],
    );
}

#[test]
fn a_coat_says_its_coverage_once() {
    check_more(
        "[coat.own]\nkind = \"paint-gold\"\ncovers = \"8 m2/l\"\nfilm = \"20 um\"\n",
        expect![[r#"
        prop.toml, line 7, column 7: coat.own: covers and film say the same thing twice
            7 | [coat.own]
              |       ^^^
          to mend it: keep what the product's sheet says, and leave out the other
    "#]],
    );
    check_more(
        "[coat.own]\nkind = \"paint-gold\"\ngrips = [\"oak\"]\n",
        expect![[r#"
        prop.toml, line 9, column 10: coat.own.grips[1]: "oak" is not one of the choices
            9 | grips = ["oak"]
              |          ^^^^^
          to mend it: what can stand here: "pla", "petg", "abs", "asa", "resin"
    "#]],
    );
}

#[test]
fn a_wrap_must_get_on() {
    check_more(
        "[wrap.grip]\nkind = \"strap-20\"\nin = \"grip\"\nstations = [\"60 mm\", \"390 mm\"]\napart = \"-19 mm\"\n",
        expect![[r#"
            prop.toml, line 11, column 9: wrap.grip.apart: turns of 20 mm that lie -19 mm apart do not get on
               11 | apart = "-19 mm"
                  |         ^^^^^^^^
              to mend it: let each turn cover nine tenths of the one before at most
        "#]],
    );
}
