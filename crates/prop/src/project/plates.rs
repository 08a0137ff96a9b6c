//! What the maker says about plates.

use super::PlateRules;
use crate::fields::{Fields, nearest_help};

/// Reads every `[plate.NAME]`. Whether its pieces exist shows only when the shape is cut.
pub(super) fn read_plates(root: &mut Fields<'_>, printers: &[String]) -> Option<Vec<PlateRules>> {
    let mut taken: Vec<u32> = Vec::new();
    let plates: Vec<Option<PlateRules>> =
        root.named_tables("plate").into_iter().map(|table| read_plate(table, printers, &mut taken)).collect();
    plates.into_iter().collect()
}

fn read_plate(mut plate: Fields<'_>, printers: &[String], taken: &mut Vec<u32>) -> Option<PlateRules> {
    let printer = plate.need("printer", "printer = \"wide\"").and_then(|field| {
        let name = field.text()?;
        let at = printers.iter().position(|printer| printer == name);
        if at.is_none() && !printers.is_empty() {
            let help = nearest_help(name, printers.iter().map(String::as_str), "this file has");
            field.error::<()>(format!("there is no [printer.{name}]"), help);
        }
        at
    });
    let pieces = plate.need("pieces", "pieces = [1, 2, 3]").and_then(|field| {
        let items = field.items("[1, 2, 3]")?;
        if items.is_empty() {
            return field.error("no piece is named", "name one at least, or leave this plate out");
        }
        let numbers: Vec<Option<u32>> = items
            .iter()
            .map(|item| {
                let number = item.whole(1..=9999)?;
                if taken.contains(&number) {
                    return item.error(format!("piece {number} is on a plate already"), "name it once");
                }
                taken.push(number);
                Some(number)
            })
            .collect();
        numbers.into_iter().collect::<Option<Vec<_>>>()
    });
    let name = plate.name.clone();
    plate.finish();
    Some(PlateRules { name, printer: printer?, pieces: pieces? })
}
