//! What every page says beside what it is about: what is stale, broken, or has been told by the watch.

use super::state::Desk;
use crate::inventory::Language;
use crate::units::UnitSystem;
use std::borrow::Cow;
use std::sync::atomic::Ordering;

/// Something that every page says.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Notice {
    /// What is the matter, in the language of the page.
    pub text: Cow<'static, str>,
    /// What a file or the system told, in English; may be empty.
    pub detail: String,
}

impl Notice {
    pub(super) fn plain(text: impl Into<Cow<'static, str>>) -> Self {
        Self {
            text: text.into(),
            detail: String::new(),
        }
    }
}

impl Desk {
    /// What every page must say: stale forecast, files that were not taken, no log.
    pub fn notices(&self, language: Language, system: UnitSystem) -> Vec<Notice> {
        let mut notices = Vec::new();
        if let Some(follow) = &self.follow {
            notices.extend(follow.notices(self.now(), self.data().zone(), language, system));
        }
        if let Some(detail) = self.refused() {
            notices.push(Notice {
                text: language
                    .pick(
                        "The files changed but could not be taken, so the earlier ones are still used:",
                        "Los archivos cambiaron pero no se pudieron tomar; se usan los anteriores:",
                    )
                    .into(),
                detail,
            });
        }
        if self.audit_fails.load(Ordering::Relaxed) {
            notices.push(Notice::plain(language.pick(
                "The audit file cannot be written: who looked at what is not kept now. Tell who looks after this desk.",
                "No se puede escribir el archivo de auditoría: no se guarda quién vio qué. Avise a quien cuida este sistema.",
            )));
        }
        if self.codes_unmarked.load(Ordering::Relaxed) {
            notices.push(Notice::plain(language.pick(
                "Used one-time codes cannot be kept in their file: after a restart signing in with a code waits for a minute. Tell who looks after this desk.",
                "No se pueden guardar los códigos de un solo uso ya usados: tras un reinicio, entrar con código espera un minuto. Avise a quien cuida este sistema.",
            )));
        }
        if self.passwords_stale.load(Ordering::Relaxed) {
            notices.push(Notice::plain(language.pick(
                "The password file changed but could not be taken; the earlier one is still in force. Tell who looks after this desk.",
                "El archivo de contraseñas cambió pero no se pudo tomar; sigue el anterior. Avise a quien cuida este sistema.",
            )));
        }
        let planned_without = self.planned_without_log.load(Ordering::Relaxed);
        notices.extend(self.log.iter().flat_map(|log| log.notices(planned_without, language)));
        let data = self.data();
        if !data.programme.loaded.series.is_empty() && data.forecast_is_over(self.now()) {
            notices.push(Notice::plain(language.pick(
                "The forecast has run out: outlooks on these pages are of the past.",
                "El pronóstico ya terminó: lo que estas páginas prevén es pasado.",
            )));
        }
        notices
    }
}
