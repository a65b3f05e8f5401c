//! Standing instructions that a game's end has opened, held against their seals and against what units were told.

use crate::game::OpenedInstructions;
use crate::orders::Instruction;

use super::audit::Auditor;
use super::links::{AuditFault, fault};
use super::{SealedAt, seal_of_instructions};

impl Auditor {
    /// Checks opened instructions against their seals, and what units were told against them.
    pub(super) fn opened(
        &self,
        number: u64,
        opened: &[OpenedInstructions],
    ) -> Result<(), AuditFault> {
        let sealed: Vec<(&SealedAt, &String)> = self
            .fold
            .record_state
            .seals()
            .iter()
            .filter_map(|sealed| Some((sealed, sealed.seal.as_ref()?)))
            .collect();
        if opened.len() != sealed.len() {
            return Err(fault(
                number,
                format!(
                    "{} standing instructions were sealed and {} are opened",
                    sealed.len(),
                    opened.len()
                ),
            ));
        }
        for (one, (sealed, seal)) in opened.iter().zip(sealed) {
            let nonce = hex::decode(&one.nonce)
                .ok()
                .and_then(|nonce| nonce.try_into().ok())
                .ok_or_else(|| fault(number, "a nonce is not 32 bytes in hex"))?;
            let sealed_now = seal_of_instructions(&nonce, &one.instructions).map(hex::encode);
            if one.side != sealed.side || sealed_now.ok().as_ref() != Some(seal) {
                let side = &sealed.side;
                return Err(fault(
                    number,
                    format!("standing instructions of {side} are not those that were sealed"),
                ));
            }
        }
        for asked in &self.asked {
            let sealed = asked.seal.and_then(|index| opened.get(index));
            let told = sealed.map_or_else(Instruction::default, |one| {
                one.instructions.of(&asked.told.unit)
            });
            if told != asked.told.instruction {
                return Err(fault(
                    asked.entry,
                    format!(
                        "{} was not told what its standing instructions said",
                        asked.told.unit
                    ),
                ));
            }
        }
        Ok(())
    }
}
