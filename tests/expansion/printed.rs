//! The printed advice followed through the binary: off the text, off the record and off the CSV, and asked again.

use brimwater::expansion::readings::{Quantity, READINGS, Slot};
use brimwater::expansion::{Assessment, Step, Told, assess_without_sensitivity};
use brimwater::language::Language;
use brimwater::output::{expansion_record, expansion_text};
use brimwater::units::UnitSystem;
use std::process::Command;

/// SplitMix64, so that every run throws the same.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

/// A house as a row of a list.
#[derive(Clone)]
struct House {
    heater: String,
    cold: String,
    hot: String,
    /// Static pressure.
    fixed: String,
    limit: String,
    street: String,
    regulator: &'static str,
    well_cut_out: String,
    tank_temperature: String,
    elevation: String,
    units: UnitSystem,
    language: Language,
    closed_by: Vec<&'static str>,
    regulator_setting: String,
    tanks: Vec<(String, String)>,
    relief_at: String,
    room: String,
}

fn random(rng: &mut Dice) -> House {
    let devices = [
        "backflow-assembly",
        "check-valve",
        "meter-check",
        "prv",
        "nothing",
        "prv-with-bypass",
        "softener",
        "softener-with-check",
        "recirculation-check",
    ];
    let count = (rng.unit() * 2.5) as usize;
    let mut at_times = |share: f64, low: f64, high: f64, unit: &str| {
        let told = rng.unit() < share;
        let value = rng.between(low, high);
        if told {
            format!("{value:.0} {unit}")
        } else {
            String::new()
        }
    };
    let well_cut_out = at_times(0.1, 40.0, 90.0, "psi");
    let street = at_times(0.4, 40.0, 150.0, "psi");
    let (tank_temperature, elevation) = (at_times(0.1, 45.0, 110.0, "F"), at_times(0.1, 1000.0, 7000.0, "ft"));
    let limit = at_times(0.2, 62.0, 145.0, "psi");
    let pick = |count: usize, rng: &mut Dice| (rng.unit() * count as f64) as usize % count;
    House {
        heater: format!("{:.0} gal", rng.between(20.0, 100.0)),
        cold: format!("{:.0} F", rng.between(36.0, 70.0)),
        hot: format!("{:.0} F", rng.between(110.0, 160.0)),
        fixed: format!("{:.1} psi", rng.between(40.0, 100.0)),
        limit,
        street: if well_cut_out.is_empty() { street } else { String::new() },
        regulator: ["", "", "", "", "creeps", "failed-open"][pick(6, rng)],
        well_cut_out,
        tank_temperature,
        elevation,
        units: [UnitSystem::Us, UnitSystem::Si, UnitSystem::Bar][pick(3, rng)],
        language: [Language::English, Language::Spanish][pick(2, rng)],
        closed_by: vec![devices[pick(9, rng)]],
        regulator_setting: String::new(),
        tanks: (0..count)
            .map(|_| {
                (
                    format!("{:.1} gal", rng.between(2.0, 10.0)),
                    if rng.unit() < 0.1 {
                        "water".into()
                    } else {
                        format!("{:.0} psi", rng.between(20.0, 80.0))
                    },
                )
            })
            .collect(),
        relief_at: String::new(),
        room: if rng.unit() < 0.15 {
            "0 gal".into()
        } else {
            String::new()
        },
    }
}

fn list(houses: &[House]) -> String {
    let mut text = String::from(
        "system_id,heater,cold,hot,static,closed_by,regulator_setting,existing_tank,precharge,relief_at,room_for_tank,limit,street,\
         regulator,well_cut_out,tank_temperature,elevation\n",
    );
    for (at, house) in houses.iter().enumerate() {
        let side = |pick: fn(&(String, String)) -> &String| {
            house
                .tanks
                .iter()
                .map(|tank| pick(tank).clone())
                .collect::<Vec<_>>()
                .join(";")
        };
        text.push_str(&format!(
            "H{at},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n",
            house.heater,
            house.cold,
            house.hot,
            house.fixed,
            house.closed_by.join(";"),
            house.regulator_setting,
            side(|tank| &tank.0),
            side(|tank| &tank.1),
            house.relief_at,
            house.room,
            house.limit,
            house.street,
            house.regulator,
            house.well_cut_out,
            house.tank_temperature,
            house.elevation
        ));
    }
    text
}

fn program(args: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_brimwater"))
        .arg("expansion")
        .args(args)
        .output()
        .unwrap();
    assert!(
        out.status.code().unwrap() < 2,
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout).unwrap()
}

/// The answers of a list as rows of CSV.
fn answers(folder: &std::path::Path, houses: &[House]) -> Vec<csv::StringRecord> {
    let path = folder.join("houses.csv");
    std::fs::write(&path, list(houses)).unwrap();
    let text = program(&[
        "--format",
        "csv",
        "--accept-unusual",
        "--systems",
        path.to_str().unwrap(),
    ]);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), houses.len());
    rows
}

/// Column of the CSV.
fn at(name: &str) -> usize {
    brimwater::output::expansion_csv::CSV_HEADER
        .iter()
        .position(|column| *column == name)
        .unwrap()
}

/// What printed words say to do, done.
fn follow(house: &House, printed: &str) -> House {
    let joined = printed.split_whitespace().collect::<Vec<_>>().join(" ");
    let after = |mark: &str| -> Option<String> {
        let rest = joined.split(mark).nth(1)?;
        let value = rest.split_whitespace().take(2).collect::<Vec<_>>().join(" ");
        Some(value.trim_end_matches(['.', ',']).to_string())
    };
    let mut next = house.clone();
    let first = |marks: &[&str]| marks.iter().copied().find_map(after);
    let setting = first(&[
        "regulator set to ",
        "Set the pressure regulator to ",
        "regulator and set it to ",
        "reductora de presión ajustada a ",
        "Ajuste la reductora de presión a ",
        "reductora de presión y ajústela a ",
    ]);
    if let Some(setting) = first(&["stop the pump at ", "pare la bomba a "]) {
        next.fixed.clone_from(&setting);
        next.well_cut_out = setting;
    }
    if joined.contains("Take out the ") || joined.contains("Quite ") {
        next.tanks.retain(|tank| tank.1 != "water");
    }
    if let Some(setting) = setting {
        next.fixed.clone_from(&setting);
        next.regulator = "holds";
        next.closed_by.retain(|device| *device != "nothing");
        if !next.closed_by.iter().any(|device| device.starts_with("prv")) {
            next.closed_by.push("prv");
        }
        next.regulator_setting = setting;
    }
    let fitted = first(&[
        "expansion tank of at least ",
        "by one of at least ",
        "tanque de expansión de al menos ",
        "por uno de al menos ",
    ]);
    if let Some(volume) = fitted {
        next.tanks = vec![(volume, first(&[", precharge ", ", precarga "]).unwrap())];
        next.room = String::new();
    } else if let Some(precharge) = first(&[
        "set its precharge to ",
        "set the precharge of each to ",
        "ponga su precarga a ",
        "ponga la precarga de cada uno a ",
    ]) {
        for tank in &mut next.tanks {
            tank.1.clone_from(&precharge);
        }
    }
    if let Some(setting) = first(&["relief valve set between ", "alivio de expansión ajustada entre "]) {
        next.tanks.clear();
        next.relief_at = setting;
    }
    next
}

/// What the columns of the list say to do, done; nothing else is looked at.
fn follow_row(house: &House, row: &csv::StringRecord) -> House {
    let psi = |name: &str| {
        row[at(name)]
            .parse::<f64>()
            .ok()
            .map(|kpa| kpa * 1e3 / 6_894.757_293_168)
    };
    let mut next = house.clone();
    if let Some(setting) = psi("regulator_gauge_kpa") {
        let regulated = !house.regulator.is_empty() || house.closed_by.iter().any(|device| device.starts_with("prv"));
        let what = if house.well_cut_out.is_empty() || regulated {
            "regulator set to"
        } else {
            "stop the pump at"
        };
        next = follow(house, &format!("{what} {setting:.2} psi."));
    }
    // A tank that has failed is no figure: the words of the row say that it comes out.
    next = Some(&row[at("to_do")])
        .filter(|words| words.contains("Take out the ") || words.contains("Quite "))
        .map_or(next.clone(), |_| follow(&next, "Take out the tank"));
    match &row[at("measure")] {
        "tank" | "replace_existing_tank" | "lower_supply_pressure_then_tank" => {
            let precharge = psi("tank_precharge_gauge_kpa").unwrap();
            next.tanks = vec![(format!("{} L", &row[at("tank_min_l")]), format!("{precharge:.2} psi"))];
            next.room = String::new();
        }
        "relief" | "lower_supply_pressure_then_relief" => {
            next.tanks.clear();
            let low = psi("relief_low_gauge_kpa").unwrap();
            next.relief_at = format!("{low:.2} psi");
        }
        "keep_existing_tank" | "lower_supply_pressure" => {
            let sets = [
                "recharge to ",
                "recharge of each to ",
                "recarga a ",
                "recarga de cada uno a ",
            ];
            if sets.iter().any(|mark| row[at("to_do")].contains(mark)) {
                for tank in &mut next.tanks {
                    tank.1 = format!("{:.2} psi", psi("tank_precharge_gauge_kpa").unwrap());
                }
            }
        }
        _ => {}
    }
    next
}

/// The house as its readings are told.
fn told(house: &House) -> Told {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_string());
    Told {
        heaters: vec![house.heater.clone()],
        cold: some(&house.cold),
        hot: some(&house.hot),
        static_pressure: some(&house.fixed),
        limit: some(&house.limit),
        street: some(&house.street),
        regulator: some(house.regulator),
        well_cut_out: some(&house.well_cut_out),
        tank_temperature: some(&house.tank_temperature),
        elevation: some(&house.elevation),
        language: house.language,
        closed_by: house.closed_by.iter().map(|device| (*device).to_string()).collect(),
        regulator_setting: some(&house.regulator_setting),
        existing_tank: house.tanks.iter().map(|tank| tank.0.clone()).collect(),
        precharge: house.tanks.iter().map(|tank| tank.1.clone()).collect(),
        relief_at: some(&house.relief_at),
        room_for_tank: some(&house.room),
        accept_unusual: true,
        ..Told::default()
    }
}

/// Whether a row says that nothing more is needed.
fn done(row: &csv::StringRecord) -> bool {
    match &row[at("measure")] {
        "none_needed" | "relief" => true,
        "keep_existing_tank" => &row[at("existing_tank_verdict")] != "not_enough",
        _ => false,
    }
}

// Ten thousand houses by what the page of text, the record and the columns of the list say, each followed alone and asked again. A wrong
// program prints one state's figures beside another's advice in one of the three, or rounds a figure to the unsafe side in it.
#[test]
fn ten_thousand_houses_have_nothing_left_to_do_whichever_page_they_follow() {
    const HOUSES: usize = 10_000;
    let cores = std::thread::available_parallelism().map_or(2, usize::from).min(4);
    let steps: usize = std::thread::scope(|scope| {
        let runs: Vec<_> = (0..cores)
            .map(|run| {
                scope.spawn(move || {
                    let mut rng = Dice(10_000 + run as u64);
                    (0..HOUSES.div_ceil(cores))
                        .map(|_| usize::from(follow_all(&random(&mut rng))))
                        .sum::<usize>()
                })
            })
            .collect();
        runs.into_iter().map(|run| run.join().unwrap()).sum()
    });
    // Most of them had something to do: the rest are open, or have a tank that does.
    assert!(steps > HOUSES / 2, "{steps}");
}

/// Follows each page of a house; whether there was anything to do.
fn follow_all(house: &House) -> bool {
    let readings = told(house);
    let system = readings.read(house.units).unwrap();
    let answer = assess_without_sensitivity(&system).unwrap();
    if answer.recommendation.steps.contains(&Step::LookAtLimit) {
        // No plumber can: whoever set the limit has to.
        return false;
    }
    let row = |answer: &Assessment| {
        csv::StringRecord::from(brimwater::output::expansion_csv::csv_cells(
            "H",
            answer,
            system.tongue(),
        ))
    };
    let text = expansion_text::text(&system, &answer, false);
    let record = expansion_record::html(&readings, &system, &answer);
    let what = record.split("<div class=\"what\">").nth(1).unwrap();
    let followed = [
        (
            "text",
            follow(
                house,
                text.split(house.language.pick("\nWhy", "\nPor qué")).next().unwrap(),
            ),
        ),
        ("record", follow(house, what.split("</p>").next().unwrap())),
        ("list", follow_row(house, &row(&answer))),
    ];
    for (page, after) in followed {
        let system = told(&after).read(house.units).unwrap();
        let again = assess_without_sensitivity(&system).unwrap();
        assert!(
            again.recommendation.steps.is_empty() && done(&row(&again)),
            "{page}: {:?}\n{}\n{}\n{text}",
            again.recommendation,
            list(std::slice::from_ref(house)),
            list(std::slice::from_ref(&after))
        );
    }
    !answer.recommendation.steps.is_empty()
}

// A wrong program prints one state's figures beside another's advice in any of the three; 200 houses through the binary.
#[test]
fn the_advice_of_text_record_and_list_leaves_nothing_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let mut rng = Dice(200);
    // One command answers the whole list, so that they are of one country; the ten thousand above are of all.
    let houses: Vec<House> = (0..200)
        .map(|_| House {
            units: UnitSystem::Us,
            language: Language::English,
            ..random(&mut rng)
        })
        .filter(|house| {
            let system = told(house).read(UnitSystem::Us).unwrap();
            let steps = assess_without_sensitivity(&system).unwrap().recommendation.steps;
            !steps.contains(&Step::LookAtLimit)
        })
        .collect();
    let (mut by_text, mut by_record, mut by_list) = (Vec::new(), Vec::new(), Vec::new());
    for (house, row) in houses.iter().zip(&answers(folder.path(), &houses)) {
        let record = folder.path().join("record.html");
        let mut args: Vec<String> = vec![
            "--heater".into(),
            house.heater.clone(),
            "--cold".into(),
            house.cold.clone(),
            "--hot".into(),
            house.hot.clone(),
            "--static".into(),
            house.fixed.clone(),
            "--closed-by".into(),
            house.closed_by.join(","),
            "--accept-unusual".into(),
            "--record".into(),
            record.to_str().unwrap().into(),
        ];
        for (volume, precharge) in &house.tanks {
            args.extend([
                "--existing-tank".into(),
                volume.clone(),
                "--precharge".into(),
                precharge.clone(),
            ]);
        }
        for (option, value) in [
            ("--room-for-tank", house.room.as_str()),
            ("--limit", &house.limit),
            ("--street", &house.street),
            ("--regulator", house.regulator),
            ("--well-cut-out", &house.well_cut_out),
            ("--tank-temperature", &house.tank_temperature),
            ("--elevation", &house.elevation),
        ] {
            if !value.is_empty() {
                args.extend([option.into(), value.to_string()]);
            }
        }
        let text = program(&args.iter().map(String::as_str).collect::<Vec<_>>());
        let to_do = text.split("\nWhy").next().unwrap();
        by_text.push(follow(house, to_do));
        let page = std::fs::read_to_string(&record).unwrap();
        let what = page.split("<div class=\"what\">").nth(1).unwrap();
        by_record.push(follow(house, what.split("</p>").next().unwrap()));
        by_list.push(follow_row(house, row));
    }
    for (door, followed) in [("text", by_text), ("record", by_record), ("list", by_list)] {
        let again = answers(folder.path(), &followed);
        for (row, (before, after)) in again.iter().zip(houses.iter().zip(&followed)) {
            assert!(
                done(row),
                "{door}: {row:?}\n{}\n{}",
                list(std::slice::from_ref(before)),
                list(std::slice::from_ref(after))
            );
        }
    }
}

/// A value that a reading takes.
fn sample(quantity: Quantity, key: &str) -> &'static str {
    match (quantity, key) {
        (Quantity::Word, "regulator") => "holds",
        (Quantity::Word, _) => "storage",
        (Quantity::Volume, _) => "60 gal",
        (Quantity::Temperature, "cold") => "50 F",
        (Quantity::Temperature, "hot" | "hygiene" | "stagnation") => "150 F",
        (Quantity::Temperature, "heater-relief-temperature") => "200 F",
        (Quantity::Temperature, _) => "70 F",
        (Quantity::Difference, _) => "5 F",
        (Quantity::Gauge, "heater-relief" | "rating" | "tank-rating") => "150 psi",
        (Quantity::Gauge, _) => "60 psi",
        (Quantity::Length, _) => "10 ft",
        (Quantity::Power, _) => "4.5 kW",
        (Quantity::Share, _) => "0.8",
        (Quantity::Pipe, _) => "copper-L 3/4 in 60 ft",
        (Quantity::Device, _) => "prv",
        (Quantity::YesNo, _) => "yes",
    }
}

// Every reading of the table is a flag, a column of a list, an input in the JSON, and has its name in both languages. A wrong program adds
// a reading at one door and forgets another.
#[test]
fn every_reading_is_at_every_door() {
    let help = program(&["--help"]);
    for reading in READINGS {
        assert!(
            help.contains(&format!("--{} ", reading.key)) || help.contains(&format!("--{}\n", reading.key)),
            "{}",
            reading.key
        );
        let (english, spanish) = (reading.label(Language::English), reading.label(Language::Spanish));
        assert!(
            !english.contains('{') && !spanish.contains('{') && english != spanish,
            "{english} {spanish}"
        );
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("all.csv");
    let header: Vec<String> = READINGS.iter().map(|reading| reading.field()).collect();
    let cells: Vec<&str> = READINGS
        .iter()
        .map(|reading| sample(reading.quantity, reading.key))
        .collect();
    std::fs::write(
        &path,
        format!("system_id,{}\nA,{}\n", header.join(","), cells.join(",")),
    )
    .unwrap();
    let by_list = program(&["--format", "json", "--systems", path.to_str().unwrap()]);
    let by_list: serde_json::Value = serde_json::from_str(&by_list).unwrap();
    let inputs = &by_list["systems"][0]["inputs"];
    // One input for each reading, and the language.
    assert_eq!(inputs.as_object().unwrap().len(), READINGS.len() + 1, "{by_list}");
    // The same by flags gives the same answer.
    let mut args: Vec<String> = vec!["--format".into(), "json".into()];
    for reading in READINGS {
        args.push(format!("--{}", reading.key));
        if !matches!(reading.slot, Slot::Flag(_)) {
            args.push(sample(reading.quantity, reading.key).into());
        }
    }
    let by_flags = program(&args.iter().map(String::as_str).collect::<Vec<_>>());
    let by_flags: serde_json::Value = serde_json::from_str(&by_flags).unwrap();
    assert_eq!(&by_flags["inputs"], inputs);
    assert_eq!(by_flags["tank"], by_list["systems"][0]["tank"]);
}
