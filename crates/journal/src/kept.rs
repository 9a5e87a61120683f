//! What was worked out of the sessions of an archer, until they change.

use std::any::{Any, TypeId};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use uuid::Uuid;

use crate::body::Body;
use crate::record::Record;

type Value = Arc<dyn Any + Send + Sync>;

/// By session, one of each type.
#[derive(Debug, Default)]
pub(crate) struct Kept(Mutex<HashMap<Uuid, Vec<(TypeId, Value)>>>);

impl Clone for Kept {
    fn clone(&self) -> Self {
        Self(Mutex::new(self.all().clone()))
    }
}

impl Kept {
    /// Nothing is left half done under the lock, so that a panic elsewhere does no harm.
    fn all(&self) -> MutexGuard<'_, HashMap<Uuid, Vec<(TypeId, Value)>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What is kept of session `id`.
    pub(crate) fn get<T: Any + Send + Sync>(&self, id: Uuid) -> Option<Arc<T>> {
        let all = self.all();
        let (_, value) = all.get(&id)?.iter().find(|(of, _)| *of == TypeId::of::<T>())?;
        value.clone().downcast().ok()
    }

    /// Keeps it.
    pub(crate) fn put<T: Any + Send + Sync>(&self, id: Uuid, value: Arc<T>) -> Arc<T> {
        let mut all = self.all();
        let of_session = all.entry(id).or_default();
        of_session.retain(|(of, _)| *of != TypeId::of::<T>());
        of_session.push((TypeId::of::<T>(), value.clone()));
        value
    }

    /// Drops what may rest on a record that comes or goes.
    pub(crate) fn heed(&mut self, record: &Record) {
        let all = self.0.get_mut().unwrap_or_else(PoisonError::into_inner);
        match &record.body {
            Body::Shot(_) | Body::End(_) | Body::Touch(_) => {
                record.body.session().map(|id| all.remove(&id));
            }
            Body::Session(_) => {
                all.remove(&record.id);
            }
            // These speak for many sessions.
            Body::Kit(_) | Body::Mark(_) | Body::Arrow(_) => all.clear(),
            // No session rests on these. What a tombstone buries is heeded with the version before it.
            _ => {}
        }
    }
}
