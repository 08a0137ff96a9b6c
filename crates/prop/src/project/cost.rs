//! What the maker says about money and stock: `[cost]`, `[price.NAME]` and `[has.NAME]`.

use super::finish::SPARE;
use crate::catalogue::prices::{self, CURRENCY, amount, money};
use crate::catalogue::rows::{Named, Stock};
use crate::catalogue::{Amount, Magnet, Price, SupplyRow};
use crate::fields::{Fields, nearest_help};

/// What things cost, and what is there already.
#[derive(Clone, Debug, PartialEq)]
pub struct CostRules {
    /// `currency`, a code of three letters.
    pub currency: String,
    /// `most`: what it may cost, if the maker says so.
    pub most: Option<f64>,
    /// `spare`: how much more is bought of what is cut, poured and sanded, 0 to 1.
    pub spare: f64,
    /// Prices in that currency: the list's, with the project's own in their place.
    pub prices: Vec<Price>,
    /// `[has.NAME]`: what the workshop has, in file order.
    pub has: Vec<Has>,
    /// Sandpaper by grit, coarse first.
    pub papers: Vec<SupplyRow>,
    /// Magnets that there are.
    pub magnets: Vec<Magnet>,
}

/// Something that the workshop has.
#[derive(Clone, Debug, PartialEq)]
pub struct Has {
    /// Catalogue row.
    pub name: String,
    /// How much of it.
    pub amount: Amount,
}

/// A tenth more than is needed (common practice, no source).
const SPARE_SHARE: f64 = 0.1;

pub(super) fn read_cost(root: &mut Fields<'_>, stock: &Stock) -> Option<CostRules> {
    let mut rules = CostRules {
        currency: CURRENCY.to_owned(),
        most: None,
        spare: SPARE_SHARE,
        prices: stock.rows.prices.clone(),
        has: Vec::new(),
        papers: stock.rows.supplies.iter().filter(|s| s.grit > 0 && s.lasts_cm2 > 0.0).cloned().collect(),
        magnets: stock.rows.magnets.clone(),
    };
    rules.papers.sort_by_key(|p| p.grit);
    let own = root.named_tables("price");
    let has = root.named_tables("has");
    if let Some(field) = root.get("cost") {
        let mut table = field.table()?;
        let currency = table.get("currency").map_or(Some(CURRENCY.to_owned()), |f| {
            let text = f.text()?;
            let code = text.len() == 3 && text.chars().all(|c| c.is_ascii_uppercase());
            if code {
                Some(text.to_owned())
            } else {
                f.error(format!("{text:?} is no code of a currency"), "write three capitals, for example \"EUR\"")
            }
        });
        let rate = table.optional("rate", |f| f.number(1e-6..=1e6));
        let spare = table.quantity("spare", &SPARE, Some(SPARE_SHARE));
        let most = match &currency {
            Some(code) => table.optional("most", |f| money(&f, code)),
            None => table.get("most").and(None),
        };
        if let (Some(code), Some(None)) = (&currency, rate)
            && code != CURRENCY
        {
            let message = format!("the catalogue's prices are in {CURRENCY}, and nothing says what that is in {code}");
            table.error_at("currency", message, &format!("add rate = 1.1, as many {code} as one {CURRENCY} is"));
            return None;
        }
        table.finish();
        rules.currency = currency?;
        let rate = rate?.unwrap_or(1.0);
        for price in &mut rules.prices {
            price.each = price.each.map(|e| e * rate);
        }
        (rules.spare, rules.most) = (spare?, most?);
    }
    let names = names(stock);
    for table in own {
        known(&table, &names)?;
        let base = rules.prices.iter().position(|p| p.name == table.name);
        let price = prices::own(table, base.map(|k| &rules.prices[k]), &rules.currency)?;
        match base {
            Some(k) => rules.prices[k] = price,
            None => rules.prices.push(price),
        }
    }
    for mut table in has {
        known(&table, &names)?;
        let name = table.name.clone();
        let price = rules.price(&name).map(|p| p.per.unit);
        let amount = table.need("amount", "amount = \"400 g\"").and_then(|f| {
            let amount = amount(&f)?;
            if let Some(unit) = price.filter(|unit| *unit != amount.unit) {
                let message = format!("{name:?} is counted in {}, and this is in {}", unit.word(), amount.unit.word());
                return f.error(message, format!("write it in {}", unit.word()));
            }
            Some(amount)
        });
        table.finish();
        rules.has.push(Has { name, amount: amount? });
    }
    Some(rules)
}

/// Every name that can be bought.
fn names(stock: &Stock) -> Vec<String> {
    fn of<R: Named>(rows: &[R]) -> impl Iterator<Item = String> + '_ {
        rows.iter().map(|r| r.name().to_owned())
    }
    let c = &stock.rows;
    of(&c.materials)
        .chain(of(&c.strips))
        .chain(of(&c.bars))
        .chain(of(&c.rods))
        .chain(of(&c.magnets))
        .chain(of(&c.inserts))
        .chain(of(&c.screws))
        .chain(of(&c.connectors))
        .chain(of(&c.parts))
        .chain(of(&c.coats))
        .chain(of(&c.glues))
        .chain(of(&c.fillers))
        .chain(of(&c.wraps))
        .chain(of(&c.supplies))
        .collect()
}

/// Whether a table is called after something that can be bought; a wire may have its gauge and colour behind it.
fn known(table: &Fields<'_>, names: &[String]) -> Option<()> {
    let name = &table.name;
    let wire = name.strip_prefix("wire-").and_then(|rest| rest.split('-').next()?.parse::<u32>().ok());
    if names.contains(name) || wire.is_some() {
        return Some(());
    }
    let help = nearest_help(name, names.iter().map(String::as_str), "the catalogue has");
    table.error(format!("the catalogue has no {name:?}"), help);
    None
}

impl CostRules {
    /// Nothing said: for stages that do not read it.
    pub(crate) fn none() -> CostRules {
        CostRules {
            currency: String::new(),
            most: None,
            spare: 0.0,
            prices: Vec::new(),
            has: Vec::new(),
            papers: Vec::new(),
            magnets: Vec::new(),
        }
    }

    /// The price of a row; a wire costs as every wire.
    pub fn price(&self, name: &str) -> Option<&Price> {
        let of = |name: &str| self.prices.iter().find(|p| p.name == name);
        of(name).or_else(|| if name.starts_with("wire-") { of("wire") } else { None })
    }
}
