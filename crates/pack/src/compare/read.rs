//! What a pack tells of itself, as far as it does.

use super::{CompareError, FoundPack};
use prop::finding::Band;
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// Everything that is compared. `None`: the pack has no such file, or it says nothing of it.
pub(super) struct Told {
    pub(super) findings: Option<FindingsFile>,
    pub(super) pieces: Option<PiecesFile>,
    pub(super) plates: Option<PlatesFile>,
    pub(super) parts: Option<Vec<Vec<String>>>,
    pub(super) hardware: Option<Vec<Vec<String>>>,
    pub(super) wires: Option<Vec<Vec<String>>>,
    pub(super) power: Option<Vec<Vec<String>>>,
    pub(super) plan: Option<Vec<Vec<String>>>,
}

#[derive(Deserialize)]
pub(super) struct FindingsFile {
    #[serde(default)]
    pub(super) prop: String,
    #[serde(default)]
    pub(super) input_hash: String,
    pub(super) length_mm: Option<f64>,
    pub(super) wearer_mm: Option<f64>,
    #[serde(default)]
    pub(super) changed: Vec<String>,
    #[serde(default)]
    pub(super) findings: Vec<Found>,
}

#[derive(Deserialize)]
pub(super) struct Found {
    pub(super) id: String,
    pub(super) verdict: String,
    pub(super) subject: String,
    pub(super) station_mm: Option<[f64; 2]>,
    pub(super) measured: Option<Value>,
    #[serde(default)]
    pub(super) message: String,
}

/// A value with its band and its unit.
#[derive(Clone, Deserialize)]
pub(super) struct Value {
    pub(super) value: f64,
    pub(super) low: f64,
    pub(super) high: f64,
    #[serde(default)]
    pub(super) unit: String,
}

impl Value {
    pub(super) fn band(&self) -> Band {
        Band { value: self.value, low: self.low, high: self.high }
    }
}

#[derive(Deserialize)]
pub(super) struct PiecesFile {
    #[serde(default)]
    pub(super) pieces: Vec<PieceTold>,
    #[serde(default)]
    pub(super) joints: Vec<serde::de::IgnoredAny>,
}

#[derive(Deserialize)]
pub(super) struct PieceTold {
    pub(super) name: String,
    #[serde(default)]
    pub(super) body: String,
    #[serde(default)]
    pub(super) printer: String,
    #[serde(default)]
    pub(super) material: String,
    pub(super) station_mm: Option<[f64; 2]>,
    pub(super) mass_g: Option<Value>,
    pub(super) print_time_s: Option<Value>,
}

#[derive(Deserialize)]
pub(super) struct PlatesFile {
    pub(super) elapsed_s: Option<Value>,
    #[serde(default)]
    pub(super) plates: Vec<PlateTold>,
    #[serde(default)]
    pub(super) materials: Vec<MaterialTold>,
}

#[derive(Deserialize)]
pub(super) struct PlateTold {
    pub(super) time_s: Option<Value>,
}

#[derive(Deserialize)]
pub(super) struct MaterialTold {
    pub(super) material: String,
    pub(super) mass_g: Option<Value>,
    pub(super) packages: Option<u32>,
}

/// Reads what is there.
pub(super) fn told(pack: &FoundPack) -> Result<Told, CompareError> {
    if pack.files.is_empty() {
        return Err(CompareError::NoPack { name: pack.name.clone() });
    }
    Ok(Told {
        findings: json(pack, "findings.json")?,
        pieces: json(pack, "pieces/index.json")?,
        plates: json(pack, "plates/index.json")?,
        parts: rows(pack, "parts/parts.csv")?,
        hardware: rows(pack, "parts/hardware.csv")?,
        wires: rows(pack, "parts/wires.csv")?,
        power: rows(pack, "power/wires.csv")?,
        plan: rows(pack, "work/plan.csv")?,
    })
}

fn unreadable(pack: &FoundPack, file: &str, reason: String) -> CompareError {
    CompareError::Unreadable { name: pack.name.clone(), file: file.to_owned(), reason }
}

fn json<T: DeserializeOwned>(pack: &FoundPack, file: &str) -> Result<Option<T>, CompareError> {
    let Some(bytes) = pack.files.get(file) else { return Ok(None) };
    serde_json::from_slice(bytes).map(Some).map_err(|e| unreadable(pack, file, e.to_string()))
}

/// All rows of a table, its head first.
fn rows(pack: &FoundPack, file: &str) -> Result<Option<Vec<Vec<String>>>, CompareError> {
    let Some(bytes) = pack.files.get(file) else { return Ok(None) };
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes.as_slice());
    let read: Result<Vec<Vec<String>>, csv::Error> =
        reader.records().map(|row| row.map(|fields| fields.iter().map(str::to_owned).collect())).collect();
    read.map(Some).map_err(|e| unreadable(pack, file, e.to_string()))
}
