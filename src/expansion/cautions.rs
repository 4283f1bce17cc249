//! What is always said, and what is said when it applies.

use super::closed::ClosingDevice;
use super::codes;
use super::system::{HeaterKind, System};
use crate::language::Tongue;
use crate::units::{PA_PER_PSI, UnitSystem, c_from_f};

/// How long hot water takes to burn an adult's skin deeply, at some °F: (°F, words). Children burn about four times as fast.
/// `[cpsc-scald]`
pub const SCALD_TIMES: [(f64, &str); 4] = [
    (120.0, "about 5 minutes"),
    (130.0, "about 30 seconds"),
    (140.0, "about 6 seconds"),
    (150.0, "about 2 seconds"),
];
/// The same times in Spanish.
const SCALD_TIMES_ES: [&str; 4] = [
    "unos 5 minutos",
    "unos 30 segundos",
    "unos 6 segundos",
    "unos 2 segundos",
];

/// The caution about scalding for a storage temperature, °C. `[cpsc-scald]` `[osha-legionella]`
pub fn scald_sentence(hot_c: f64, mixed: bool, tongue: Tongue) -> String {
    let list: Vec<String> = SCALD_TIMES
        .iter()
        .zip(&SCALD_TIMES_ES)
        .map(|((fahrenheit, english), spanish)| {
            let time = tongue.pick(english, spanish);
            let at = match tongue.units {
                UnitSystem::Us => format!("{fahrenheit:.0} °F"),
                UnitSystem::Si | UnitSystem::Bar => format!("{:.0} °C", c_from_f(*fahrenheit)),
            };
            tongue.pick(format!("{at} in {time}"), format!("{at} en {time}"))
        })
        .collect();
    let now = if mixed {
        ""
    } else if hot_c > c_from_f(120.0) + 0.01 {
        tongue.pick(
            " This storage is above 120 °F (49 °C): fit a listed mixing valve where people draw water.",
            " Este almacenamiento pasa de 120 °F (49 °C): ponga una válvula mezcladora listada donde la gente saca agua.",
        )
    } else {
        ""
    };
    let list = list.join(", ");
    tongue.pick(
        format!("Hot water burns: {list}; children sooner.{now}"),
        format!("El agua caliente quema: {list}; a los niños, antes.{now}"),
    )
}

/// What is always said before the sentence about scalding, English and Spanish.
const STANDING: [[&str; 2]; 2] = [
    [
        "The heater's temperature and pressure relief valve is a safety device and never the control for expansion; never plug, cap, valve off or reset it.",
        "La válvula de alivio de temperatura y presión del calentador es un dispositivo de seguridad y nunca el control de la expansión; nunca la tape, la selle, la cierre con una válvula ni cambie su ajuste.",
    ],
    [
        "Set a precharge with its tank isolated and drained to zero, at the temperature where it stands; check it every year.",
        "Ponga cada precarga con su tanque aislado y vaciado a cero, a la temperatura del lugar donde está; revísela cada año.",
    ],
];
/// What is always said after it.
const STANDING_TOO: [[&str; 2]; 6] = [
    [
        "Do not lower the storage temperature to cure expansion: water stored below 140 °F (60 °C) can grow Legionella, and hotter water scalds; both are settled by storage temperature and a mixing valve together.",
        "No baje la temperatura del calentador para curar la expansión: en agua guardada a menos de 140 °F (60 °C) puede crecer Legionella, y el agua más caliente quema; ambas cosas se resuelven juntas con la temperatura del calentador y una válvula mezcladora.",
    ],
    [
        "A permit, the local plumbing code as adopted, and a licensed plumber decide; check the maker's instructions of tank and valve.",
        "Deciden el permiso, el código local de plomería vigente y un plomero con licencia; revise las instrucciones del fabricante del tanque y de la válvula.",
    ],
    [
        "An expansion tank goes on the cold line between the last check and the heater, supported, listed for drinking water, with nothing that can shut it off unnoticed.",
        "Un tanque de expansión va en la línea fría entre la última retención y el calentador, con soporte, listado para agua potable, sin nada que pueda cerrarlo sin que se note.",
    ],
    [
        "A relief discharges by gravity through an air gap to a place where it is seen, cannot scald, flood or freeze; never capped, never threaded at its end, never into a condensate pan or pump.",
        "Un alivio descarga por gravedad y con espacio de aire a un lugar donde se vea y no pueda quemar, inundar ni congelarse; nunca tapado, nunca con rosca en la punta, nunca a una charola o bomba de condensado.",
    ],
    [
        "Take the highest static pressure of a day and night with a maximum-hand gauge; mains stand highest at night.",
        "Tome la presión estática más alta de un día y una noche con un manómetro con aguja de máxima; la calle está más alta de noche.",
    ],
    [
        "Water at the top of a heater can be hotter than the thermostat says by up to 30 °F (17 K) after short draws; size on the hottest storage.",
        "Después de usos cortos, el agua de arriba del calentador puede estar hasta 30 °F (17 K) más caliente de lo que dice el termostato; calcule con la más caliente.",
    ],
];

/// Sections beside the standing cautions, in their order: those before the sentence about scalding, then those after it.
const BESIDE: [&[codes::Section]; 2] = [codes::HEATER_RELIEF, &[]];
/// The same for those after it.
const BESIDE_TOO: [&[codes::Section]; 6] = [codes::HYGIENE, &[], codes::TANK, codes::DISCHARGE, &[], &[]];

/// All cautions for a system, the standing ones first.
pub fn all(system: &System, is_closed: Option<bool>) -> Vec<String> {
    let tongue = system.tongue();
    let pick = |[english, spanish]: [&str; 2]| tongue.pick(english, spanish).to_string();
    let say = |id: &str| crate::say!(tongue.language, id);
    let [control, precharge] = STANDING.map(pick);
    // Where the tank stands warmer or cooler than its precharge is set, the figure told is not the one to set there.
    let precharge = match system.tank_ambient_c {
        None => precharge,
        Some(ambient_c) => crate::say!(
            tongue.language,
            "expansion-caution-precharge-at",
            at = tongue.temperature(system.precharge_set_c),
            stands = tongue.temperature(ambient_c)
        ),
    };
    let mut said: Vec<String> = [control, precharge]
        .into_iter()
        .zip(BESIDE)
        .map(|(text, sections)| codes::beside(text, sections))
        .collect();
    said.push(codes::beside(
        scald_sentence(system.hot_c, system.mixing_valve, tongue),
        codes::MIXING,
    ));
    let too = STANDING_TOO.map(pick).into_iter().zip(BESIDE_TOO);
    said.extend(too.map(|(text, sections)| codes::beside(text, sections)));
    said.push(say("expansion-caution-local-first"));
    of_the_heater(system, &mut said);
    if let (Some(street_pa), true) = (
        system.street_gauge_pa,
        system
            .closed_by
            .iter()
            .any(|d| matches!(d, ClosingDevice::Prv | ClosingDevice::PrvWithBypass)),
    ) && street_pa > system.heater_relief_gauge_pa
    {
        let (street, relief) = (tongue.gauge(street_pa), tongue.gauge(system.heater_relief_gauge_pa));
        said.push(tongue.pick(
            format!("The main at {street} is above the heater's relief valve ({relief}): if the regulator fails, that valve opens."),
            format!("La calle, a {street}, pasa del alivio del calentador ({relief}): si falla la reductora, esa válvula abre."),
        ));
    }
    if system.static_gauge_pa > 80.0 * PA_PER_PSI * 1.0005 {
        let text = pick([
            "Static pressure above 80 psi (552 kPa) calls for a pressure reducing valve with a strainer under the usual plumbing codes, as adopted locally; the valve itself closes the plumbing.",
            "Una presión estática de más de 80 psi (552 kPa) pide una válvula reductora de presión con filtro según los códigos usuales de plomería, como estén vigentes; esa válvula cierra la tubería.",
        ]);
        said.push(codes::beside(text, codes::REGULATOR));
    }
    match is_closed {
        None => said.push(pick([
            "Whether the plumbing is closed is not settled; the figures take it as closed.",
            "No se sabe si la tubería está cerrada; las cifras la toman como cerrada.",
        ])),
        Some(true) => said.push(codes::beside(say("expansion-caution-closed"), codes::CLOSED)),
        Some(false) => {}
    }
    if system.closed_by.contains(&ClosingDevice::BackflowAssembly) {
        said.push(pick([
            "After any work on the assembly or a move of it, a certified tester tests it before service; a relief port that drips in step with heating points to the second check.",
            "Tras cualquier trabajo en el conjunto o si se cambia de lugar, un probador certificado lo prueba antes de usarlo; una boca de alivio que gotea al paso del calentador apunta a la segunda retención.",
        ]));
    }
    if system.heaters.iter().any(|heater| heater.volume_l > 454.3) {
        let text = pick([
            "A vessel above 120 gal (454 L) is usually built and inspected to a boiler and pressure vessel code; its tank may have to be, too.",
            "Un recipiente de más de 120 gal (454 L) suele construirse e inspeccionarse según un código de calderas y recipientes a presión; su tanque quizá también.",
        ]);
        said.push(codes::beside(text, codes::VESSEL));
    }
    said
}

/// What a kind of heater, its hygiene run, a mixing valve and a loop bring with them.
fn of_the_heater(system: &System, said: &mut Vec<String>) {
    let tongue = system.tongue();
    let say = |id: &str| crate::say!(tongue.language, id);
    match system.kind {
        HeaterKind::Solar => said.push(codes::beside(say("expansion-caution-solar"), codes::LISTED_RELIEF)),
        HeaterKind::HeatPump if system.hygiene_c.is_none() => said.push(say("expansion-caution-heat-pump")),
        HeaterKind::Instantaneous => said.push(codes::beside(say("expansion-caution-instantaneous"), codes::CLOSED)),
        _ => {}
    }
    let decided = |celsius: Option<f64>| celsius.is_some_and(|celsius| (celsius - system.hot_c).abs() < 1e-6);
    if decided(system.hygiene_c) || decided(system.stagnation_c) {
        let id = if decided(system.stagnation_c) {
            "expansion-caution-sized-on-stagnation"
        } else {
            "expansion-caution-sized-on-hygiene"
        };
        said.push(crate::say!(tongue.language, id, hot = tongue.temperature(system.hot_c)));
    }
    if system.mixing_valve {
        said.push(codes::beside(say("expansion-caution-mixing-valve"), codes::MIXING));
    }
    if system.recirculation {
        said.push(codes::beside(say("expansion-caution-recirculation"), codes::CLOSED));
    }
}
