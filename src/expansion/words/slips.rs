//! Readings that cannot be used, or are hard to believe: what is wrong, what was expected, what to do.

use super::{Missing, OfPipe, TankSlip};
use crate::expansion::codes::{self, Section};
use crate::faults::{Fault, Severity};
use crate::language::Tongue;
use crate::units::{L_PER_US_GAL, UnitError, UnitSystem, c_from_f, f_from_c, show_temperature, show_volume};

/// A slip in a reading. Pressures Pa gauge, volumes L, temperatures °C.
#[derive(Debug, Clone, PartialEq)]
#[allow(
    missing_docs,
    reason = "the sentences below say what each is; fields carry their unit in the name"
)]
pub enum Slip {
    NotFinite,
    NothingHeated,
    NegativeVolume,
    LargeHeater {
        volume_l: f64,
    },
    SmallHeater,
    NegativePipe,
    NegativeAir,
    ColdImpossible,
    ColdIsWarm,
    HotBelowCold {
        hot_c: f64,
        cold_c: f64,
    },
    HotReliefTag,
    Boils,
    HotAtRelief {
        relief_c: f64,
    },
    HotIsHot,
    StaticNotAboveZero,
    StaticUnbelieved {
        pa: f64,
        low: bool,
        accepted: bool,
    },
    LimitNotAboveZero,
    LimitUnbelieved {
        pa: f64,
    },
    LimitAboveHeaterRelief {
        limit_pa: f64,
        relief_pa: f64,
    },
    StreetUnbelieved {
        pa: f64,
    },
    StreetBelowStatic {
        street_pa: f64,
        static_pa: f64,
    },
    ReliefNotAboveZero,
    HeaterReliefNotAboveZero,
    NobodyThere,
    ImpossibleEfficiency {
        efficiency: f64,
    },
    HeatInputNotAboveZero,
    NegativeDraw,
    NegativeRoom,
    NegativeStacking,
    UnknownRegulatorState {
        names: String,
    },
    UnknownKind {
        names: String,
    },
    HydronicLoop,
    HygieneBelowStorage {
        hygiene_c: f64,
        hot_c: f64,
    },
    /// Swapped static and limit.
    StaticLimitSwapped {
        static_pa: f64,
        limit_pa: f64,
    },
    HotUnbelieved {
        hot_c: f64,
    },
    RiseUnbelieved {
        rise_k: f64,
    },
    Beyond {
        low: String,
        high: String,
    },
    Unusual {
        low: String,
        high: String,
    },
    UnknownDevice {
        names: String,
    },
    Unreadable(UnitError),
    /// Of the tanks that are there, or of the place of one.
    Tank(TankSlip),
    /// A needed reading is missing.
    Missing(Missing),
    /// A pipe cannot be read.
    OfPipe(OfPipe),
}

/// The three parts of a slip from the message files; a message takes of the arguments what it names.
pub(super) fn by_message(tongue: Tongue, name: &str, arguments: &[(&str, String)]) -> Told {
    let given = |wanted: &str| -> String {
        let found = arguments.iter().find(|(name, _)| *name == wanted);
        found.map_or_else(String::new, |(_, value)| value.clone())
    };
    ["what", "expected", "remedy"].map(|part| {
        crate::say!(
            tongue.language,
            &format!("expansion-slip-{name}-{part}"),
            names = given("names"),
            static = given("static"),
            limit = given("limit"),
            hot = given("hot"),
            other = given("other"),
            rise = given("rise"),
            low = given("low"),
            high = given("high")
        )
    })
}

/// What the typed number would be on the other scale: "60 °C is 140 °F".
fn other_scale(celsius: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => {
            let typed = f_from_c(celsius);
            format!("{typed:.0} °C = {}", show_temperature(typed, UnitSystem::Us))
        }
        UnitSystem::Si | UnitSystem::Bar => format!(
            "{celsius:.0} °F = {}",
            show_temperature(c_from_f(celsius), UnitSystem::Si)
        ),
    }
}

/// What is wrong, what was expected, what to do.
pub(super) type Told = [String; 3];

impl Slip {
    /// The fault that tells it.
    pub fn fault(&self, code: &'static str, severity: Severity, column: &str, tongue: Tongue) -> Fault {
        let [what, expected, remedy] = self.told(tongue);
        Fault::new(code, severity, codes::beside(what, self.sections()))
            .column(column)
            .expected(expected)
            .remedy(remedy)
    }

    /// The sections of the model codes that it leans on.
    fn sections(&self) -> &'static [Section] {
        match self {
            Slip::HotReliefTag | Slip::HotAtRelief { .. } => codes::LISTED_RELIEF,
            Slip::LimitAboveHeaterRelief { .. } => codes::HEATER_RELIEF,
            Slip::LargeHeater { .. } => codes::VESSEL,
            Slip::LimitNotAboveZero => codes::REGULATOR,
            Slip::HydronicLoop => codes::HEATING_LOOP,
            _ => &[],
        }
    }

    fn told(&self, tongue: Tongue) -> Told {
        let gauge = |pascal: f64| tongue.gauge(pascal);
        let both = |english: [&str; 3], spanish: [&str; 3]| tongue.pick(english, spanish).map(str::to_string);
        match self {
            Slip::NotFinite => both(
                ["is not a number", "a finite number", "Read it again."],
                ["no es un número", "un número finito", "Léalo otra vez."],
            ),
            Slip::NothingHeated => both(
                [
                    "no water is heated: the heater's volume is zero or missing",
                    "a heater volume above zero, such as \"40 gal\"",
                    "Read the volume on the heater's rating plate.",
                ],
                [
                    "no se calienta agua: el volumen del calentador es cero o falta",
                    "un volumen mayor que cero, como \"40 gal\"",
                    "Lea el volumen en la placa del calentador.",
                ],
            ),
            Slip::NegativeVolume => both(
                ["a volume cannot be negative", "a volume above zero", "Read it again."],
                [
                    "un volumen no puede ser negativo",
                    "un volumen mayor que cero",
                    "Léalo otra vez.",
                ],
            ),
            Slip::LargeHeater { volume_l } => {
                // A litre figure typed as gallons is the usual reason: 190 L is a 50 gal heater.
                let as_litres = volume_l / L_PER_US_GAL;
                let other = match tongue.units {
                    UnitSystem::Us => UnitSystem::Si,
                    UnitSystem::Si | UnitSystem::Bar => UnitSystem::Us,
                };
                let (shown, also) = (tongue.volume(*volume_l), show_volume(*volume_l, other));
                both(
                    [
                        &format!(
                            "is large for a domestic heater ({shown}, that is {also}); if the plate says {as_litres:.0} litres, write \"{as_litres:.0} L\""
                        ),
                        "20 to 120 gal (75 to 450 L) for one domestic heater",
                        "Check litres against US gallons and imperial gallons on the plate; above 120 gal a vessel is usually built to a boiler and pressure vessel code.",
                    ],
                    [
                        &format!(
                            "es grande para un calentador doméstico ({shown}, o sea {also}); si la placa dice {as_litres:.0} litros, escriba \"{as_litres:.0} L\""
                        ),
                        "de 20 a 120 gal (75 a 450 L) para un calentador doméstico",
                        "Revise si la placa dice litros, galones de EE. UU. o imperiales; arriba de 120 gal un recipiente suele construirse según un código de calderas y recipientes a presión.",
                    ],
                )
            }
            Slip::SmallHeater => both(
                [
                    "is small for a storage heater",
                    "20 to 120 gal (75 to 450 L) for one domestic heater",
                    "For a heater without storage give its hot piping instead (--pipe).",
                ],
                [
                    "es pequeño para un calentador con tanque",
                    "de 20 a 120 gal (75 a 450 L) para un calentador doméstico",
                    "Si el calentador no tiene tanque, dé su tubería caliente.",
                ],
            ),
            Slip::NegativePipe => both(
                [
                    "a pipe cannot have a negative length",
                    "a length above zero",
                    "Measure it again.",
                ],
                [
                    "un tubo no puede tener longitud negativa",
                    "una longitud mayor que cero",
                    "Mídalo otra vez.",
                ],
            ),
            Slip::NegativeAir => both(
                [
                    "a volume cannot be negative",
                    "zero or more",
                    "Leave it out when there is none.",
                ],
                [
                    "un volumen no puede ser negativo",
                    "cero o más",
                    "Déjelo vacío si no hay.",
                ],
            ),
            Slip::ColdImpossible => both(
                [
                    "cold supply water lies between freezing and boiling",
                    "32 to 212 °F (0 to 100 °C)",
                    "Give the coldest supply of the year.",
                ],
                [
                    "el agua fría del suministro está entre congelarse y hervir",
                    "de 32 a 212 °F (0 a 100 °C)",
                    "Dé el suministro más frío del año.",
                ],
            ),
            Slip::ColdIsWarm => both(
                [
                    "is warm for the coldest supply of the year",
                    "32 to 80 °F (0 to 27 °C)",
                    "The cold end sets the volume: use the winter supply, not today's.",
                ],
                [
                    "es tibio para el suministro más frío del año",
                    "de 32 a 80 °F (0 a 27 °C)",
                    "El extremo frío fija el volumen: use el suministro de invierno, no el de hoy.",
                ],
            ),
            Slip::HotBelowCold { hot_c, cold_c } => {
                let (hot, cold) = (tongue.temperature(*hot_c), tongue.temperature(*cold_c));
                both(
                    [
                        &format!("the hot temperature {hot} is below the cold one {cold}"),
                        "hot above cold",
                        "Look whether the two were swapped.",
                    ],
                    [
                        &format!("la temperatura caliente {hot} es menor que la fría {cold}"),
                        "caliente mayor que fría",
                        "Vea si se cambiaron una por otra.",
                    ],
                )
            }
            Slip::HotReliefTag => both(
                [
                    "no listed temperature and pressure relief valve opens above 210 °F (98.9 °C)",
                    "210 °F (98.9 °C) or less",
                    "Read the valve's tag; a valve without one is replaced by a licensed person.",
                ],
                [
                    "ninguna válvula de alivio de temperatura y presión listada abre arriba de 210 °F (98.9 °C)",
                    "210 °F (98.9 °C) o menos",
                    "Lea la etiqueta de la válvula; si no la tiene, la cambia una persona con licencia.",
                ],
            ),
            Slip::Boils => both(
                [
                    "the water would boil at the static pressure, or is hotter than 302 °F (150 °C)",
                    "storage below the boiling point",
                    "Read the hottest storage temperature again.",
                ],
                [
                    "el agua herviría a la presión estática, o pasa de 302 °F (150 °C)",
                    "almacenamiento debajo del punto de ebullición",
                    "Lea otra vez la temperatura más caliente del tanque.",
                ],
            ),
            Slip::HotAtRelief { relief_c } => {
                let at = tongue.temperature(*relief_c);
                both(
                    [
                        &format!(
                            "is at or above the {at} at which the heater's temperature and pressure relief valve opens"
                        ),
                        "storage well below the relief valve's temperature",
                        "A storage heater that hot is a hazard: shut the energy off and call a licensed plumber. A sealed heating system has other valves.",
                    ],
                    [
                        &format!(
                            "llega a los {at} a los que abre la válvula de alivio de temperatura y presión del calentador, o pasa de ellos"
                        ),
                        "almacenamiento muy por debajo de la temperatura de la válvula de alivio",
                        "Un calentador tan caliente es un peligro: corte la energía y llame a un plomero con licencia. Un sistema de calefacción cerrado lleva otras válvulas.",
                    ],
                )
            }
            Slip::HotIsHot => both(
                [
                    "is hot for domestic storage",
                    "120 to 180 °F (49 to 82 °C)",
                    "Check °F against °C.",
                ],
                [
                    "es muy caliente para uso doméstico",
                    "de 120 a 180 °F (49 a 82 °C)",
                    "Revise si son °F o °C.",
                ],
            ),
            Slip::StaticNotAboveZero => both(
                [
                    "a static gauge pressure is above zero",
                    "10 to 300 psi (69 to 2068 kPa) as the gauge shows it",
                    "Read the gauge with every tap shut.",
                ],
                [
                    "una presión estática de manómetro es mayor que cero",
                    "de 10 a 300 psi (69 a 2068 kPa) como la muestra el manómetro",
                    "Lea el manómetro con todas las llaves cerradas.",
                ],
            ),
            Slip::StaticUnbelieved { pa, low, accepted } => {
                let hint = if *low {
                    tongue.pick(
                        "Was it typed in bar as psi? Write the unit: \"4 bar\".",
                        "¿Son bar y se escribieron como psi? Escriba la unidad: \"4 bar\".",
                    )
                } else {
                    tongue.pick(
                        "Was it typed in kPa as psi, or as absolute pressure? Write the unit: \"414 kPa\".",
                        "¿Son kPa y se escribieron como psi, o es presión absoluta? Escriba la unidad: \"414 kPa\".",
                    )
                };
                let more = if *accepted {
                    ""
                } else {
                    tongue.pick(
                        " If it is truly so, have unusual readings accepted (--accept-unusual).",
                        " Si de verdad es así, acepte lecturas poco comunes.",
                    )
                };
                let remedy = format!("{hint}{more}");
                both(
                    [
                        &format!("a static pressure of {} is not believed", gauge(*pa)),
                        "10 to 300 psi (69 to 2068 kPa) as the gauge shows it, not absolute",
                        &remedy,
                    ],
                    [
                        &format!("una presión estática de {} no es creíble", gauge(*pa)),
                        "de 10 a 300 psi (69 a 2068 kPa) como la muestra el manómetro, no absoluta",
                        &remedy,
                    ],
                )
            }
            Slip::LimitNotAboveZero => both(
                [
                    "a pressure limit is above zero",
                    "80 psi (552 kPa) where the plumbing code says nothing else",
                    "Give the highest pressure that the house may see.",
                ],
                [
                    "un límite de presión es mayor que cero",
                    "80 psi (552 kPa) donde el código de plomería no diga otra cosa",
                    "Dé la presión más alta que la casa puede tener.",
                ],
            ),
            Slip::LimitUnbelieved { pa } => both(
                [
                    &format!("a limit of {} is not believed", gauge(*pa)),
                    "at most 300 psi (2068 kPa), and 80 psi (552 kPa) in most houses",
                    "Write the unit. If it is truly so, have unusual readings accepted (--accept-unusual).",
                ],
                [
                    &format!("un límite de {} no es creíble", gauge(*pa)),
                    "a lo más 300 psi (2068 kPa), y 80 psi (552 kPa) en la mayoría de las casas",
                    "Escriba la unidad. Si de verdad es así, acepte lecturas poco comunes.",
                ],
            ),
            Slip::LimitAboveHeaterRelief { limit_pa, relief_pa } => both(
                [
                    &format!(
                        "the limit of {} is above or within a tenth of the {} at which the heater's relief valve opens, so that valve would be the control",
                        gauge(*limit_pa),
                        gauge(*relief_pa)
                    ),
                    "a limit below the heater's relief valve; 80 psi (552 kPa) in most houses",
                    "The heater's relief valve is a safety device and never the control.",
                ],
                [
                    &format!(
                        "el límite de {} pasa o está a menos de un décimo de los {} a los que abre el alivio del calentador, así que esa válvula sería el control",
                        gauge(*limit_pa),
                        gauge(*relief_pa)
                    ),
                    "un límite menor que el alivio del calentador; 80 psi (552 kPa) en la mayoría de las casas",
                    "El alivio del calentador es un dispositivo de seguridad y nunca el control.",
                ],
            ),
            Slip::StreetUnbelieved { pa } => both(
                [
                    &format!("a pressure of {} in the main is not believed", gauge(*pa)),
                    "10 to 300 psi (69 to 2068 kPa) as a gauge shows it",
                    "Ask the utility for the highest pressure at this address.",
                ],
                [
                    &format!("una presión de {} en la calle no es creíble", gauge(*pa)),
                    "de 10 a 300 psi (69 a 2068 kPa) como la muestra un manómetro",
                    "Pregunte a la empresa de agua la presión más alta en esta dirección.",
                ],
            ),
            Slip::StreetBelowStatic { street_pa, static_pa } => both(
                [
                    &format!(
                        "the main ({}) is told lower than the house ({}): with the taps shut the house cannot stand above the main unless it is closed and was heated, or pumped",
                        gauge(*street_pa),
                        gauge(*static_pa)
                    ),
                    "a highest street pressure at or above the static pressure",
                    "Read static cold, with the heater off, right after drawing water.",
                ],
                [
                    &format!(
                        "la calle ({}) se dio menor que la casa ({}): con las llaves cerradas la casa no puede estar arriba de la calle, salvo que esté cerrada y se haya calentado, o tenga bomba",
                        gauge(*street_pa),
                        gauge(*static_pa)
                    ),
                    "una presión de la calle igual o mayor que la estática",
                    "Lea la estática en frío, con el calentador apagado, justo después de sacar agua.",
                ],
            ),
            Slip::ReliefNotAboveZero => both(
                [
                    "a relief setting is above zero",
                    "a gauge pressure",
                    "Read the valve's tag.",
                ],
                [
                    "el ajuste de un alivio es mayor que cero",
                    "una presión de manómetro",
                    "Lea la etiqueta de la válvula.",
                ],
            ),
            Slip::HeaterReliefNotAboveZero => both(
                [
                    "a relief setting is above zero",
                    "150 psi (1034 kPa) in most houses",
                    "Read the valve's tag.",
                ],
                [
                    "el ajuste de un alivio es mayor que cero",
                    "150 psi (1034 kPa) en la mayoría de las casas",
                    "Lea la etiqueta de la válvula.",
                ],
            ),
            Slip::NobodyThere => both(
                [
                    "no supplied building stands there",
                    "-1,600 to 20,000 ft (-500 to 6000 m)",
                    "Check feet against metres.",
                ],
                [
                    "ahí no hay edificios con suministro",
                    "de -1,600 a 20,000 ft (-500 a 6000 m)",
                    "Revise si son pies o metros.",
                ],
            ),
            Slip::ImpossibleEfficiency { efficiency } => {
                let percent = *efficiency > 1.0 && *efficiency <= 100.0;
                let remedies = if percent {
                    [
                        format!("For a percentage write \"{efficiency} %\"."),
                        format!("Si es porcentaje escriba \"{efficiency} %\"."),
                    ]
                } else {
                    [
                        "Leave it out to take 1, which is the cautious side.".to_string(),
                        "Déjelo vacío para tomar 1, que es lo cauto.".to_string(),
                    ]
                };
                both(
                    [
                        "an efficiency lies above 0 and at most at 1",
                        "0.76 to 0.98, or 76 % to 98 %",
                        &remedies[0],
                    ],
                    [
                        "una eficiencia es mayor que 0 y a lo más 1",
                        "de 0.76 a 0.98, o de 76 % a 98 %",
                        &remedies[1],
                    ],
                )
            }
            Slip::HeatInputNotAboveZero => both(
                [
                    "a heat input is above zero",
                    "such as \"40000 Btu/h\"",
                    "Read the rating plate.",
                ],
                [
                    "una potencia es mayor que cero",
                    "algo como \"40000 Btu/h\"",
                    "Lea la placa.",
                ],
            ),
            Slip::NegativeDraw => both(
                ["a volume cannot be negative", "such as \"64 gal\"", "Read it again."],
                [
                    "un volumen no puede ser negativo",
                    "algo como \"64 gal\"",
                    "Léalo otra vez.",
                ],
            ),
            Slip::NegativeRoom => both(
                ["a volume cannot be negative", "zero or more", "Read it again."],
                ["un volumen no puede ser negativo", "cero o más", "Léalo otra vez."],
            ),
            Slip::NegativeStacking => both(
                [
                    "stacking adds to the hottest storage and cannot be negative",
                    "such as \"10 F\"",
                    "",
                ],
                [
                    "el sobrecalentamiento por usos cortos suma a la temperatura más caliente y no puede ser negativo",
                    "algo como \"10 F\"",
                    "",
                ],
            ),
            Slip::UnknownRegulatorState { names } => by_message(tongue, "regulator-state", &[("names", names.clone())]),
            Slip::UnknownKind { names } => by_message(tongue, "unknown-kind", &[("names", names.clone())]),
            Slip::HydronicLoop => by_message(tongue, "hydronic", &[]),
            Slip::HygieneBelowStorage { hygiene_c, hot_c } => by_message(
                tongue,
                "hygiene-below",
                &[
                    ("hot", tongue.temperature(*hot_c)),
                    ("other", tongue.temperature(*hygiene_c)),
                ],
            ),
            Slip::StaticLimitSwapped { static_pa, limit_pa } => by_message(
                tongue,
                "static-limit-swapped",
                &[("static", gauge(*static_pa)), ("limit", gauge(*limit_pa))],
            ),
            Slip::HotUnbelieved { hot_c } => by_message(
                tongue,
                "hot-unbelieved",
                &[
                    ("hot", tongue.temperature(*hot_c)),
                    ("other", other_scale(*hot_c, tongue.units)),
                ],
            ),
            Slip::RiseUnbelieved { rise_k } => {
                by_message(tongue, "rise-unbelieved", &[("rise", tongue.warming(*rise_k))])
            }
            Slip::Beyond { low, high } => by_message(tongue, "beyond", &[("low", low.clone()), ("high", high.clone())]),
            Slip::Unusual { low, high } => {
                by_message(tongue, "unusual", &[("low", low.clone()), ("high", high.clone())])
            }
            Slip::Tank(slip) => slip.told(tongue),
            Slip::Missing(missing) => missing.told(tongue),
            Slip::OfPipe(pipe) => pipe.told(tongue),
            Slip::UnknownDevice { names } => both(
                ["the device is not known", names, "Use the nearest of these names."],
                [
                    "no se conoce el dispositivo",
                    names,
                    "Use el nombre más cercano de estos.",
                ],
            ),
            Slip::Unreadable(error) => [
                tongue.pick(
                    format!(
                        "this is not {}: {}",
                        error.wanted.name(tongue.language),
                        error.problem.text(tongue.language)
                    ),
                    format!(
                        "esto no es {}: {}",
                        error.wanted.name(tongue.language),
                        error.problem.text(tongue.language)
                    ),
                ),
                error.wanted.expected(tongue.language).to_string(),
                String::new(),
            ],
        }
    }
}
