//! Postings of a seat as they are sent: written for what the record has come to, and signed where the seat has a key.

use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::record::{Fold, ORGANISER, PostingKind};
use jiff::Timestamp;
use serde_json::json;
use ureq::http::Method;

use super::session::GameSession;
use crate::api::{ApiRequest, ApiResponse};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::signing::{PostingBasis, SigningKey, ToSign, readable_fingerprint, signature};
use crate::wire::Done;

/// How often a posting is written anew because somebody was first.
const TRIES: u32 = 3;

/// A seat that signs, and its key.
#[derive(Debug)]
pub struct Signer {
    /// Id of the seat.
    pub seat: String,
    /// Its key on this machine.
    pub key: SigningKey,
}

impl Signer {
    /// The header that signs a posting.
    ///
    /// # Errors
    /// As [`signature`].
    pub fn header(
        &self,
        game: &[u8; 16],
        basis: &PostingBasis,
        kind: PostingKind,
        body: &[u8],
        number: Option<&Bytes32>,
    ) -> CliResult<String> {
        let to_sign = ToSign {
            seat: &self.seat,
            kind,
            body,
            number,
            nonce: None,
        };
        signature(&self.key, game, basis, &to_sign)
    }
}

impl GameSession {
    /// Who signs for the seat acted for; nobody where it has no key that counts, and need not have one.
    ///
    /// # Errors
    /// When everything must be signed in this game and this machine cannot.
    pub fn signer(&self, fold: &Fold) -> CliResult<Option<Signer>> {
        let must = fold.record_state.is_signed();
        let Some((name, seat)) = &self.context.seat else {
            return match must {
                true => Err(CliError::Usage(
                    "this game is played with signatures: act for a kept seat, whose signing key is on this machine"
                        .to_owned(),
                )),
                false => Ok(None),
            };
        };
        let is_organiser = seat.role() == "organiser";
        let id = match is_organiser {
            true => Some(ORGANISER.to_owned()),
            false => seat.seat_id.clone(),
        };
        let (Some(id), Some(key)) = (id, &seat.signing_key) else {
            return match must {
                true if !is_organiser => Err(CliError::Other(format!(
                    "this game is played with signatures, and {name} has no signing key on this machine; make one and have \
                     it added from another device: fieldpost keys new"
                ))),
                _ => Ok(None),
            };
        };
        let key = SigningKey::from_hex(key)?;
        let known = fold.record_state.keys(&id, Timestamp::now());
        if known.contains(&key.public().as_str()) {
            return Ok(Some(Signer { seat: id, key }));
        }
        match must && !is_organiser {
            true => Err(CliError::Other(format!(
                "the record does not have this machine's key for {name} yet; on a device whose key it has: \
                 fieldpost keys add {}",
                key.public()
            ))),
            false => Ok(None),
        }
    }

    /// Refuses a record that has other keys for the seat acted for than this machine's: somebody signs in its name.
    ///
    /// # Errors
    /// [`CliError::Mismatch`], with the keys.
    pub fn check_own_key(&self) -> CliResult {
        let Some((name, seat)) = &self.context.seat else {
            return Ok(());
        };
        let (Some(id), Some(key), false) = (&seat.seat_id, &seat.signing_key, seat.key_awaited)
        else {
            return Ok(());
        };
        let own = SigningKey::from_hex(key)?.public();
        let (fold, now) = (self.record.fold()?, Timestamp::now());
        let known = fold.record_state.keys(id, now);
        if known.is_empty() || known.contains(&own.as_str()) {
            return Ok(());
        }
        let others: Vec<String> = known.into_iter().map(readable_fingerprint).collect();
        let why = match fold.record_state.is_on_organisers_word(id, now) {
            true => "The organiser has replaced it. ",
            false => "",
        };
        Err(CliError::Mismatch(format!(
            "in the server's record the seat {name} does not sign with this machine's key.\n  yours:        {}\n  the record's: {}\n\
             {why}If it was not you who asked for that, somebody plays in your name: tell the other side, in another way than \
             through this server. If you play on another device now: fieldpost seats forget {name}",
            readable_fingerprint(&own),
            others.join("\n                ")
        )))
    }

    /// Does something by a posting of the seat acted for; written anew when somebody was first.
    ///
    /// # Errors
    /// As [`crate::api::ApiClient::send`]; when the server says no.
    pub fn post(
        &mut self,
        kind: PostingKind,
        method: &Method,
        rest: &str,
        body: Option<&[u8]>,
    ) -> CliResult<Done> {
        let path = format!("/v1/games/{}/{rest}", self.context.game()?);
        let mut tries = 1;
        loop {
            let answer = self.post_once(kind, method, &path, body)?;
            if answer.status == 412 && tries < TRIES {
                self.refresh()?;
                tries += 1;
                continue;
            }
            return answer.success()?.json();
        }
    }

    fn post_once(
        &self,
        kind: PostingKind,
        method: &Method,
        path: &str,
        body: Option<&[u8]>,
    ) -> CliResult<ApiResponse> {
        let request = match body {
            Some(body) => ApiRequest::send(method.clone(), path, body),
            None => ApiRequest::nothing(method.clone(), path),
        };
        let fold = self.record.fold()?;
        let Some(signer) = self.signer(&fold)? else {
            return self.client.send(&request);
        };
        let (game, basis) = (fold.record_state.game_id(), PostingBasis::of(&fold));
        let header = signer.header(game, &basis, kind, body.unwrap_or_default(), None)?;
        let request = request
            .header("if-match", format!("\"{}\"", basis.precondition))
            .header("posting-signature", header);
        self.client.send(&request)
    }

    /// Seats the organiser who acts in the record, with a key of this machine, where a game is played with signatures and
    /// they are not seated yet. Whoever acts for another seat has nothing to do here.
    ///
    /// # Errors
    /// When the key cannot be kept, or the server says no.
    pub fn seat_organiser(&mut self, output: Output) -> CliResult {
        let is_organiser = |seat: &crate::storage::seats::Seat| seat.role() == "organiser";
        let Some((name, seat)) = self
            .context
            .seat
            .clone()
            .filter(|(_, seat)| is_organiser(seat))
        else {
            return Ok(());
        };
        let record_state = self.record.fold()?.record_state;
        if !record_state.is_signed() || record_state.is_seated(ORGANISER) {
            return Ok(());
        }
        let key = match &seat.signing_key {
            Some(key) => SigningKey::from_hex(key)?,
            None => {
                let key = SigningKey::fresh()?;
                self.context.save_signing_key(&name, &key)?;
                key
            }
        };
        let player = seat.player.as_deref().unwrap_or("The organiser");
        let body = json!({ "player": player, "key": key.public() }).to_string();
        let path = format!("/v1/games/{}/rulings/organiser", self.context.game()?);
        self.client
            .send(&ApiRequest::send(Method::POST, path, body.as_bytes()))?
            .success()?;
        output.info("you are seated in the record as one who rules, with this machine's key");
        self.refresh()
    }
}
