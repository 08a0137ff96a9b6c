//! Which other devices are answered: those that came with a secret that was shown here, each secret once.

use axum::http::{HeaderMap, header};
use sha2::{Digest, Sha256};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long a secret is good for.
pub(crate) const LASTS: Duration = Duration::from_secs(600);
/// The cookie that a paired device shows.
const COOKIE: &str = "lanthorn";
/// Devices that are remembered; the one paired longest ago is forgotten first.
const DEVICES: usize = 20;

/// Secrets and devices. Kept as hashes, so that no comparison tells by its time how much of a guess was right.
#[derive(Default)]
pub(crate) struct Pairing(Mutex<Kept>);

#[derive(Default)]
struct Kept {
    secret: Option<(Hash, Instant)>,
    devices: Vec<Hash>,
}

type Hash = [u8; 32];

fn hash(text: &str) -> Hash {
    Sha256::digest(text.as_bytes()).into()
}

/// 128 bits by chance, as text.
pub(crate) fn token() -> anyhow::Result<String> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|e| anyhow::anyhow!("the machine gives no random numbers: {e}"))?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

impl Pairing {
    /// A secret to be shown, good once until `LASTS` from now; the one before is void.
    pub(crate) fn offer(&self, now: Instant) -> anyhow::Result<String> {
        let secret = token()?;
        self.kept(|kept| kept.secret = Some((hash(&secret), now + LASTS)));
        Ok(secret)
    }

    /// The cookie for a device that came with the secret; `None` when it is wrong, used or too old.
    pub(crate) fn pair(&self, secret: &str, now: Instant) -> anyhow::Result<Option<String>> {
        let device = token()?;
        Ok(self.kept(|kept| {
            let (_, ends) = kept.secret.filter(|(right, _)| *right == hash(secret))?;
            kept.secret = None;
            if now >= ends {
                return None;
            }
            if kept.devices.len() == DEVICES {
                kept.devices.remove(0);
            }
            kept.devices.push(hash(&device));
            Some(format!("{COOKIE}={device}; Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000"))
        }))
    }

    /// Whether a request comes from a paired device.
    pub(crate) fn knows(&self, headers: &HeaderMap) -> bool {
        let cookies = headers.get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok());
        let pairs = cookies.flat_map(|all| all.split(';')).filter_map(|one| one.trim().split_once('='));
        let shown: Vec<Hash> = pairs.filter(|(name, _)| *name == COOKIE).map(|(_, value)| hash(value)).collect();
        self.kept(|kept| shown.iter().any(|device| kept.devices.contains(device)))
    }

    fn kept<R>(&self, work: impl FnOnce(&mut Kept) -> R) -> R {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;

    #[test]
    fn a_secret_pairs_one_device_once_and_in_time() {
        let pairing = Pairing::default();
        let now = Instant::now();
        assert_eq!(pairing.pair("", now).unwrap(), None, "nothing was shown yet");
        let secret = pairing.offer(now).unwrap();
        assert_eq!(pairing.pair(&secret[1..], now).unwrap(), None);
        let cookie = pairing.pair(&secret, now).unwrap().unwrap();
        assert_eq!(pairing.pair(&secret, now).unwrap(), None, "used");
        let shown = cookie.split(';').next().unwrap();
        let headers = |text: &str| HeaderMap::from_iter([(header::COOKIE, HeaderValue::from_str(text).unwrap())]);
        assert!(pairing.knows(&headers(shown)) && pairing.knows(&headers(&format!("a=b; {shown}"))));
        assert!(!pairing.knows(&headers("lanthorn=")) && !pairing.knows(&HeaderMap::new()));
        assert!(!pairing.knows(&headers(&secret)));
        let late = pairing.offer(now).unwrap();
        assert_eq!(pairing.pair(&late, now + LASTS).unwrap(), None, "too old");
        let first = pairing.offer(now).unwrap();
        let second = pairing.offer(now).unwrap();
        assert_ne!(first, second);
        assert_eq!(pairing.pair(&first, now).unwrap(), None, "a newer one was shown");
        assert!(pairing.pair(&second, now).unwrap().is_some());
    }
}
