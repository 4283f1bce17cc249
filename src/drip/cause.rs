//! What can be behind a drip.

use super::finding::Finding;
use super::line::Line;
use serde::{Deserialize, Serialize};

/// A cause, weighed against the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// The freeze-drip runs because it is cold.
    FreezeDripRuns,
    /// The freeze-drip is held open by grit, scale or wear.
    FreezeDripStuck,
    /// Ice has formed or is forming and holds the water back.
    IceForming,
    /// The relief of a reduced pressure assembly spat on a dip of the supply pressure.
    ReliefDip,
    /// A check or the relief seat of a reduced pressure assembly is fouled.
    CheckFouled,
    /// Heated water presses back through a leaking second check.
    ExpansionThroughCheck,
    /// The expansion relief gives way to heated water, as it should.
    ExpansionReliefRuns,
    /// The expansion relief stays open: supply pressure above its setting, a failed tank, or debris.
    ExpansionReliefStays,
    /// Heated water in closed plumbing leaves by the heater's relief.
    HeaterExpansion,
    /// The heater's relief has a worn or fouled seat, or the supply pressure is too high.
    HeaterReliefWorn,
    /// The heater overheats.
    HeaterOverheats,
    /// A vacuum breaker spurts while it fills.
    BreakerFills,
    /// The air inlet of a vacuum breaker does not seal.
    BreakerFouled,
    /// Frost has broken a part.
    FrostBroke,
    /// A test valve weeps after a test.
    CockAfterTest,
    /// A test valve is worn or not quite closed.
    CockWorn,
    /// A pipe, joint or seal leaks.
    PipeLeaks,
    /// Rain, groundwater, or water condensed on a cold pipe.
    NotFromPipe,
}

impl Cause {
    /// Every cause, in the order of the weight table.
    pub const ALL: &'static [Cause] = &[
        Cause::FreezeDripRuns,
        Cause::FreezeDripStuck,
        Cause::IceForming,
        Cause::ReliefDip,
        Cause::CheckFouled,
        Cause::ExpansionThroughCheck,
        Cause::ExpansionReliefRuns,
        Cause::ExpansionReliefStays,
        Cause::HeaterExpansion,
        Cause::HeaterReliefWorn,
        Cause::HeaterOverheats,
        Cause::BreakerFills,
        Cause::BreakerFouled,
        Cause::FrostBroke,
        Cause::CockAfterTest,
        Cause::CockWorn,
        Cause::PipeLeaks,
        Cause::NotFromPipe,
    ];

    /// Whether heated water that wants room is behind it.
    pub fn is_expansion(self) -> bool {
        matches!(
            self,
            Cause::ExpansionThroughCheck | Cause::ExpansionReliefRuns | Cause::HeaterExpansion
        )
    }

    /// What follows when this is the cause.
    pub fn finding(self) -> Finding {
        match self {
            Cause::FreezeDripRuns
            | Cause::ReliefDip
            | Cause::ExpansionReliefRuns
            | Cause::BreakerFills
            | Cause::CockAfterTest => Finding::WorkingAsMeant,
            Cause::FreezeDripStuck
            | Cause::CheckFouled
            | Cause::ExpansionReliefStays
            | Cause::HeaterReliefWorn
            | Cause::BreakerFouled
            | Cause::CockWorn => Finding::DeviceFault,
            Cause::ExpansionThroughCheck | Cause::HeaterExpansion => Finding::ExpansionSuspected,
            Cause::HeaterOverheats => Finding::Emergency,
            Cause::IceForming => Finding::FreezingNow,
            Cause::FrostBroke => Finding::FreezeDamage,
            Cause::PipeLeaks => Finding::Leak,
            Cause::NotFromPipe => Finding::CannotTell,
        }
    }

    /// The cause as people read it.
    pub fn words(self) -> Line {
        match self {
            Cause::FreezeDripRuns => Line::new(
                "the freeze-drip valve is running because it is cold",
                "la válvula de goteo contra heladas gotea porque hace frío",
            ),
            Cause::FreezeDripStuck => Line::new(
                "the freeze-drip valve is held open by grit, scale or wear",
                "la válvula de goteo contra heladas quedó abierta por arenilla, sarro o desgaste",
            ),
            Cause::IceForming => Line::new(
                "ice is forming and holds the water back",
                "se está formando hielo que detiene el agua",
            ),
            Cause::ReliefDip => Line::new(
                "the relief spat on a dip in supply pressure",
                "el alivio escupió agua por una baja de presión",
            ),
            Cause::CheckFouled => Line::new(
                "a check or the relief seat is fouled",
                "una válvula de retención o el asiento del alivio está sucio",
            ),
            Cause::ExpansionThroughCheck => Line::new(
                "heated water presses back through a leaking second check",
                "el agua calentada empuja hacia atrás por la segunda retención",
            ),
            Cause::ExpansionReliefRuns => Line::new(
                "the expansion relief is letting heated water out, as it should",
                "el alivio de expansión deja salir agua calentada, como debe",
            ),
            Cause::ExpansionReliefStays => Line::new(
                "the relief stays open: pressure above its setting, a failed tank, or debris",
                "el alivio queda abierto: presión sobre su ajuste, tanque dañado o suciedad",
            ),
            Cause::HeaterExpansion => Line::new(
                "heated water in closed plumbing has no room",
                "el agua calentada en tubería cerrada no tiene espacio",
            ),
            Cause::HeaterReliefWorn => Line::new(
                "the heater's relief seat is worn or fouled, or supply pressure is too high",
                "el asiento del alivio del calentador está gastado o sucio, o la presión es muy alta",
            ),
            Cause::HeaterOverheats => Line::new("the heater is overheating", "el calentador se sobrecalienta"),
            Cause::BreakerFills => Line::new(
                "the vacuum breaker spurts while it fills, then seals",
                "el rompevacío echa agua mientras se llena y luego sella",
            ),
            Cause::BreakerFouled => Line::new(
                "the air inlet of the vacuum breaker does not seal",
                "la entrada de aire del rompevacío no sella",
            ),
            Cause::FrostBroke => Line::new("frost has broken a part", "la helada rompió una pieza"),
            Cause::CockAfterTest => Line::new(
                "a test valve weeps for a few minutes after a test",
                "una válvula de prueba gotea unos minutos después de la prueba",
            ),
            Cause::CockWorn => Line::new(
                "a test valve is worn or not quite closed",
                "una válvula de prueba está gastada o mal cerrada",
            ),
            Cause::PipeLeaks => Line::new("a pipe, joint or seal leaks", "gotea un tubo, una unión o un sello"),
            Cause::NotFromPipe => Line::new(
                "rain, groundwater or condensation, not the plumbing",
                "lluvia, agua del suelo o condensación, no la tubería",
            ),
        }
    }
}
