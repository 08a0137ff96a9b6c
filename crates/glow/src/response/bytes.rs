//! The compact stored form of a response.
//!
//! All numbers are little-endian. In order: the eight bytes `glowresp`; u32 version (1); u32 patches, u32 pixels, u32
//! solids, u32 things; u64 photons; the totals as f64: out, escaped, lost, roulette, coats, glue, mended, noise, then one a
//! solid, one a thing; one f32 sigma a patch; per pixel a count of entries, then for each entry the distance of its patch
//! from the one after the last entry's (0 for neighbours); after all of them the shares as f32 in the same order. Counts
//! and distances are variable-length: seven bits a byte, low ones first, the top bit set on all bytes but the last. At the
//! end u64: the FNV-1a hash of all bytes before it.

use super::{Response, Totals};

const NAME: &[u8; 8] = b"glowresp";
const VERSION: u32 = 1;

/// Bytes that are no response.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ResponseError {
    /// They begin differently.
    #[error("these bytes are no stored light response")]
    Foreign,
    /// A later or unknown form.
    #[error("a light response of form {version}; this program reads form {VERSION}: compute it again")]
    Version {
        /// The form it says.
        version: u32,
    },
    /// Bytes are missing, changed or too many.
    #[error("the light response is damaged at byte {at} ({what}): compute it again")]
    Damaged {
        /// Where.
        at: usize,
        /// What is wrong.
        what: &'static str,
    },
}

impl Response {
    /// The response as bytes, the form of which is documented in this module's source: the same response gives the same
    /// bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(self.n_entries() * 6 + self.n_patches() * 4 + 200);
        bytes.extend_from_slice(NAME);
        let t = &self.totals;
        let counts = [VERSION, self.n_patches, self.n_pixels() as u32, t.solids.len() as u32, t.things.len() as u32];
        bytes.extend(counts.into_iter().flat_map(u32::to_le_bytes));
        bytes.extend(t.n_photons.to_le_bytes());
        let totals = [t.out, t.escaped, t.lost, t.roulette, t.coats, t.glue, t.mended, t.noise];
        for x in totals.iter().chain(&t.solids).chain(&t.things) {
            bytes.extend(x.to_le_bytes());
        }
        bytes.extend(self.sigma.iter().flat_map(|x| x.to_le_bytes()));
        for pixel in 0..self.n_pixels() {
            put_varying(&mut bytes, (self.start[pixel + 1] - self.start[pixel]) as u32);
            let mut next = 0;
            for (patch, _) in self.row(pixel) {
                put_varying(&mut bytes, patch - next);
                next = patch + 1;
            }
        }
        bytes.extend(self.share.iter().flat_map(|x| x.to_le_bytes()));
        let sum = fnv(&bytes);
        bytes.extend(sum.to_le_bytes());
        bytes
    }

    /// Reads what [`Response::to_bytes`] wrote.
    ///
    /// # Errors
    ///
    /// Bytes of another kind or form, cut short, changed, or with numbers that are not finite.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, ResponseError> {
        if bytes.len() < NAME.len() || &bytes[..NAME.len()] != NAME {
            return Err(ResponseError::Foreign);
        }
        let mut reader = Reader { bytes, at: NAME.len() };
        let version = reader.u32()?;
        if version != VERSION {
            return Err(ResponseError::Version { version });
        }
        let body = bytes.len().checked_sub(8).ok_or(reader.damage("cut short"))?;
        if bytes[body..] != fnv(&bytes[..body]).to_le_bytes() {
            return Err(reader.damage("its check sum is wrong"));
        }
        reader.bytes = &bytes[..body];
        let (n_patches, n_pixels) = (reader.u32()?, reader.u32()?);
        let (n_solids, n_things) = (reader.u32()?, reader.u32()?);
        let n_photons = u64::from_le_bytes(reader.take()?);
        let [out, escaped, lost, roulette, coats, glue, mended, noise] = reader.doubles(8)?[..] else {
            return Err(reader.damage("cut short"));
        };
        let (solids, things) = (reader.doubles(n_solids)?, reader.doubles(n_things)?);
        let totals = Totals { n_photons, out, escaped, lost, roulette, coats, glue, solids, things, mended, noise };
        let sigma = reader.floats(n_patches as usize)?;
        let (mut start, mut patch) = (vec![0], Vec::new());
        for _ in 0..n_pixels {
            let mut next = 0_u32;
            for _ in 0..reader.varying()? {
                let this = reader.varying()?.checked_add(next).filter(|p| *p < n_patches);
                let this = this.ok_or(reader.damage("a patch that isn't there"))?;
                patch.push(this);
                next = this + 1;
            }
            start.push(patch.len());
        }
        let share = reader.floats(patch.len())?;
        if reader.at != body {
            return Err(reader.damage("more bytes than entries"));
        }
        Ok(Self { n_patches, start, patch, share, sigma, totals })
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn damage(&self, what: &'static str) -> ResponseError {
        ResponseError::Damaged { at: self.at, what }
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], ResponseError> {
        let some = self.bytes.get(self.at..self.at + N).and_then(|b| b.try_into().ok());
        let some = some.ok_or(self.damage("cut short"))?;
        self.at += N;
        Ok(some)
    }

    fn u32(&mut self) -> Result<u32, ResponseError> {
        Ok(u32::from_le_bytes(self.take()?))
    }

    fn doubles(&mut self, n: u32) -> Result<Vec<f64>, ResponseError> {
        (0..n)
            .map(|_| {
                let x = f64::from_le_bytes(self.take()?);
                if x.is_finite() { Ok(x) } else { Err(self.damage("a number that is not finite")) }
            })
            .collect()
    }

    fn floats(&mut self, n: usize) -> Result<Vec<f32>, ResponseError> {
        let mut all = Vec::new();
        for _ in 0..n {
            let x = f32::from_le_bytes(self.take()?);
            if !x.is_finite() {
                return Err(self.damage("a number that is not finite"));
            }
            all.push(x);
        }
        Ok(all)
    }

    fn varying(&mut self) -> Result<u32, ResponseError> {
        let mut value = 0_u64;
        for shift in (0..35).step_by(7) {
            let [byte] = self.take()?;
            value |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return u32::try_from(value).map_err(|_| self.damage("a count that is too large"));
            }
        }
        Err(self.damage("a count that is too large"))
    }
}

fn put_varying(bytes: &mut Vec<u8>, mut value: u32) {
    while value >= 0x80 {
        bytes.push(value as u8 | 0x80);
        value >>= 7;
    }
    bytes.push(value as u8);
}

/// FNV-1a with 64 bits (Fowler, Noll, Vo; IETF draft-eastlake-fnv, constants from memory).
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, b| (hash ^ u64::from(*b)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small() -> Response {
        let rows = [vec![(0, 0.5), (1, 0.25), (700, 0.125)], vec![], vec![(699, 1.0)]];
        let totals = Totals {
            n_photons: 12_000,
            out: 0.625,
            escaped: 0.375,
            solids: vec![0.0, 0.125],
            things: vec![0.5],
            noise: 0.01,
            ..Totals::default()
        };
        Response::gathered(701, &rows, vec![0.25; 701], totals)
    }

    #[test]
    fn a_response_comes_back_as_it_was() {
        let response = small();
        assert_eq!(Response::from_bytes(&response.to_bytes()), Ok(response.clone()));
        let light = response.lit(&[2.0, 1.0, 0.5]);
        assert_eq!((light[0], light[1], light[700], light[699], light[2]), (1.0, 0.5, 0.25, 0.5, 0.0));
        assert_eq!(response.lit(&[]), vec![0.0; 701]);
        assert_eq!(response.lit(&[1.0; 9]).iter().sum::<f32>(), 1.875);
        assert_eq!(response.row(3).count(), 0);
    }

    #[test]
    fn the_hash_is_the_published_one() {
        // Test vector of the draft's appendix, from memory: "a" and the empty string.
        assert_eq!(fnv(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv(b"a"), 0xaf63_dc4c_8601_ec8c);
    }

    #[test]
    fn damage_is_told_wherever_it_is() {
        let bytes = small().to_bytes();
        for cut in 0..bytes.len() {
            assert!(Response::from_bytes(&bytes[..cut]).is_err(), "{cut}");
        }
        for at in 0..bytes.len() {
            let mut bad = bytes.clone();
            bad[at] ^= 0x10;
            assert!(Response::from_bytes(&bad).is_err(), "{at}");
        }
        // Well hashed nonsense: as many entries as can be counted.
        let mut bad = bytes[..bytes.len() - 8].to_vec();
        for b in &mut bad[12..20] {
            *b = 0xff;
        }
        let sum = fnv(&bad);
        bad.extend(sum.to_le_bytes());
        assert!(matches!(Response::from_bytes(&bad), Err(ResponseError::Damaged { .. })));
        assert_eq!(Response::from_bytes(b"GIF89a"), Err(ResponseError::Foreign));
        let mut later = bytes;
        later[8] = 9;
        assert_eq!(Response::from_bytes(&later), Err(ResponseError::Version { version: 9 }));
    }
}
