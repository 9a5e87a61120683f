//! What a club's secretary does beside accounts themselves: the way in for newcomers, who opens it, and those under age.

use goldward_report::words::{Done, Wrong};
use goldward_server::auth::fresh_id;
use goldward_server::clock::now_ms;
use goldward_server::routes::{MOST_DAYS, MOST_ROOM, fresh_signup};
use goldward_session::problem::plain;
use goldward_store::guardian::{MinorSet, SetManager, SetMinor};
use goldward_store::signup::{CloseSignup, OpenSignup, OpenedSignup};

use crate::failure::{Failure, said};
use crate::there::There;

impl There<'_> {
    /// Says whether newcomers may come.
    pub(crate) fn sign_up(&self) -> Result<String, Failure> {
        let now_ms = now_ms();
        Ok(match self.ask(OpenedSignup { now_ms, hash: None })? {
            None => self.done(Done::NoLink, &[]),
            Some(open) => {
                let days = open.expires_ms.saturating_sub(now_ms).div_ceil(86_400_000);
                self.done(Done::LinkOpen, &[&open.room.to_string(), &days.to_string()])
            }
        })
    }

    /// Opens a link for newcomers.
    pub(crate) fn open_sign_up(&self, room: Option<u64>, days: Option<u64>) -> Result<String, Failure> {
        let title = Wrong::NoLinkOpened;
        let wrong = |_| Failure::data(title, said(Wrong::LinkNumbers, [MOST_ROOM.into(), MOST_DAYS.into()]));
        let (signup, hash, code) = fresh_signup(room, days).map_err(wrong)?;
        self.tell(title, OpenSignup { hash, signup, by: None })?;
        Ok(format!("{code}\n"))
    }

    /// Switches it off.
    pub(crate) fn close_sign_up(&self) -> Result<String, Failure> {
        let was = self.ask(CloseSignup)?;
        Ok(self.done(if was { Done::LinkEnded } else { Done::NoLinkWasOpen }, &[]))
    }

    /// Who opens and closes it in the app.
    pub(crate) fn manager(&self, name: &str, manages: bool) -> Result<String, Failure> {
        let title = Wrong::NothingChanged;
        let account = self.named(title, name)?;
        self.tell(title, SetManager { account: account.id, manages })?;
        Ok(self.done(if manages { Done::Manages } else { Done::ManagesNot }, &[&plain(&account.name)]))
    }

    /// Who is under age, and whose consent it takes.
    pub(crate) fn guardian(&self, name: &str, guardian: Option<&str>, of_age: bool) -> Result<String, Failure> {
        let title = Wrong::NothingChanged;
        let account = self.named(title, name)?;
        let guardian = guardian.map(|g| self.named(title, g)).transpose()?;
        let op = SetMinor {
            account: account.id,
            minor: !of_age,
            guardian: guardian.as_ref().map(|g| g.id),
            now_ms: now_ms(),
            entries: [fresh_id(), fresh_id()],
        };
        let name = plain(&account.name);
        match self.tell(title, op)? {
            MinorSet::NoGuardian => Err(Failure::data(title, Wrong::NoGuardian)),
            MinorSet::Guards => Err(Failure::data(title, said(Wrong::IsGuardian, [name.into()]))),
            MinorSet::Done => Ok(match guardian {
                _ if of_age => self.done(Done::OfAge, &[&name]),
                None => self.done(Done::UnderAge, &[&name]),
                Some(g) => self.done(Done::Guarded, &[&name, &plain(&g.name)]),
            }),
        }
    }
}
