//! What was worked out before: results of stages, kept under the hash of what each was made from.
//!
//! The caller owns a [`Memory`] and hands it to one build after another; what an edit does not touch is taken from it. A
//! result is the same whether it was remembered or made, since a stage is a function of what its key says.

use sha2::{Digest, Sha256};
use solid::Mesh;
use std::any::Any;
use std::collections::BTreeMap;
use std::fmt::{self, Debug, Write};
use std::ops::Deref;
use std::sync::{Arc, Mutex, PoisonError};

/// How many builds' worth of results are kept of each stage: the last one, an edit, and what was there before it.
const BUILDS: usize = 3;

/// Hash of everything that a result was made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key([u8; 32]);

/// Writes down what a result is made from.
pub struct KeyOf(Sha256);

impl KeyOf {
    /// Begins with the stage that makes the result.
    #[must_use]
    pub fn stage(name: &'static str) -> KeyOf {
        KeyOf(Sha256::new()).and(&name)
    }

    /// Adds a value, whole, as its derived `Debug` shows it: numbers come out with every figure that tells them apart.
    #[must_use]
    pub fn and(self, value: &(impl Debug + ?Sized)) -> KeyOf {
        let mut text = Hashed(self.0);
        // Writing into a hash cannot fail.
        let _ = write!(text, "{value:?}");
        // No text holds this byte: it parts one value from the next.
        text.0.update([0xff]);
        KeyOf(text.0)
    }

    /// Adds a mesh: each of its coordinates and indices.
    #[must_use]
    pub fn mesh(self, mesh: &Mesh) -> KeyOf {
        const AT_ONCE: usize = 4096;
        let KeyOf(mut hash) = self.and(&(mesh.vertices.len(), mesh.triangles.len()));
        let mut bytes = Vec::with_capacity(AT_ONCE * 24);
        for some in mesh.vertices.chunks(AT_ONCE) {
            bytes.clear();
            bytes.extend(some.iter().flat_map(|v| v.to_array()).flat_map(f64::to_le_bytes));
            hash.update(&bytes);
        }
        for some in mesh.triangles.chunks(AT_ONCE) {
            bytes.clear();
            bytes.extend(some.iter().flatten().flat_map(|v| v.to_le_bytes()));
            hash.update(&bytes);
        }
        KeyOf(hash)
    }

    /// The key.
    #[must_use]
    pub fn key(self) -> Key {
        Key(self.0.finalize().into())
    }
}

struct Hashed(Sha256);

impl Write for Hashed {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.0.update(text);
        Ok(())
    }
}

/// A result with its key: what is made from it is named by that.
pub struct Known<T> {
    key: Key,
    value: Arc<T>,
}

impl<T> Known<T> {
    /// A result that came about together with others under a key of theirs.
    pub(crate) fn part(key: Key, value: T) -> Known<T> {
        Known { key, value: Arc::new(value) }
    }

    /// What it was made from.
    pub fn key(&self) -> Key {
        self.key
    }
}

impl<T> Clone for Known<T> {
    fn clone(&self) -> Known<T> {
        Known { key: self.key, value: Arc::clone(&self.value) }
    }
}

impl<T> Deref for Known<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

/// Results of earlier builds. Bounded: of each stage the last few builds' worth are kept, and those in use longest.
#[derive(Default)]
pub struct Memory {
    shelves: Mutex<BTreeMap<&'static str, Shelf>>,
}

/// One stage's results, each with when it was last used.
#[derive(Default)]
struct Shelf {
    clock: u64,
    made: usize,
    kept: BTreeMap<Key, (u64, Arc<dyn Any + Send + Sync>)>,
}

impl Memory {
    /// The result under a key: the one kept, else what `make` comes to, which is kept from now on. `each_build` is how many
    /// results of this stage a build has. What fails is not kept.
    ///
    /// # Errors
    /// Those of `make`.
    pub fn recall<T: Send + Sync + 'static, E>(
        &self,
        stage: &'static str,
        each_build: usize,
        key: Key,
        make: impl FnOnce() -> Result<T, E>,
    ) -> Result<Known<T>, E> {
        if let Some(value) = self.on_shelf(stage, |shelf| shelf.take(key))
            && let Ok(value) = value.downcast()
        {
            return Ok(Known { key, value });
        }
        let value = Arc::new(make()?);
        self.on_shelf(stage, |shelf| shelf.put(key, value.clone(), BUILDS * each_build.max(1)));
        Ok(Known { key, value })
    }

    /// How many results of a stage were made so far, rather than remembered.
    pub fn made(&self, stage: &'static str) -> usize {
        self.on_shelf(stage, |shelf| shelf.made)
    }

    fn on_shelf<R>(&self, stage: &'static str, work: impl FnOnce(&mut Shelf) -> R) -> R {
        // Whoever broke off did so between two whole changes.
        let mut shelves = self.shelves.lock().unwrap_or_else(PoisonError::into_inner);
        work(shelves.entry(stage).or_default())
    }
}

impl Shelf {
    fn take(&mut self, key: Key) -> Option<Arc<dyn Any + Send + Sync>> {
        self.clock += 1;
        let (used, value) = self.kept.get_mut(&key)?;
        *used = self.clock;
        Some(Arc::clone(value))
    }

    fn put(&mut self, key: Key, value: Arc<dyn Any + Send + Sync>, room: usize) {
        self.clock += 1;
        self.made += 1;
        self.kept.insert(key, (self.clock, value));
        while self.kept.len() > room
            && let Some(oldest) = self.kept.iter().min_by_key(|(_, (used, _))| *used).map(|(key, _)| *key)
        {
            self.kept.remove(&oldest);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::convert::Infallible;

    fn key(of: u32) -> Key {
        KeyOf::stage("test").and(&of).key()
    }

    fn recall(memory: &Memory, of: u32, made: &mut u32) -> u32 {
        let known = memory.recall("test", 1, key(of), || {
            *made += 1;
            Ok::<u32, Infallible>(of * 10)
        });
        let Ok(known) = known;
        *known
    }

    #[test]
    fn what_is_known_is_not_made_again_until_it_falls_off_the_shelf() {
        let memory = Memory::default();
        let mut made = 0;
        for (of, in_all) in [(1, 1), (1, 1), (2, 2), (3, 3), (1, 3), (4, 4), (1, 4), (2, 5)] {
            assert_eq!((recall(&memory, of, &mut made), made), (of * 10, in_all), "after {of}");
        }
        assert_eq!((memory.made("test"), memory.shelves.lock().unwrap()["test"].kept.len()), (made as usize, BUILDS));
    }

    #[test]
    fn what_fails_is_tried_again() {
        let memory = Memory::default();
        let failed = memory.recall("test", 1, key(1), || Err::<u32, &str>("no"));
        assert_eq!(failed.map(|k| *k).unwrap_err(), "no");
        let mut made = 0;
        assert_eq!((recall(&memory, 1, &mut made), made), (10, 1));
    }

    #[test]
    fn keys_tell_apart_what_text_alone_would_run_together() {
        let of = |parts: &[&str]| parts.iter().fold(KeyOf::stage("test"), |k, p| k.and(p)).key();
        assert_ne!(of(&["ab", "c"]), of(&["a", "bc"]));
        assert_ne!(KeyOf::stage("a").key(), KeyOf::stage("b").key());
        assert_ne!(KeyOf::stage("a").and(&0.1).key(), KeyOf::stage("a").and(&(0.1 + f64::EPSILON / 8.0)).key());
        let mesh = |x: f64| Mesh { vertices: vec![solid::DVec3::X * x], triangles: vec![[0, 0, 0]] };
        let of = |m: &Mesh| KeyOf::stage("test").mesh(m).key();
        assert_eq!(of(&mesh(1.0)), of(&mesh(1.0)));
        assert_ne!(of(&mesh(1.0)), of(&mesh(1.0 + f64::EPSILON)));
        assert_ne!(of(&mesh(1.0)), of(&Mesh { triangles: vec![[0, 0, 1]], ..mesh(1.0) }));
    }
}
