//! Ten exports of one list, each of another make, read to the same list by the config that `check --propose` writes and by nothing else.
//!
//! X-Val: the list below, written by hand; it is the answer, not an earlier output. The makes follow what spreadsheets and database
//! exports do (RFC 4180 for the quoting, Unicode 15 ch. 23.8 for byte order marks); rows, names and numbers (the 555-01xx range of the
//! North American Numbering Plan, set aside for fiction) are invented.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use assert_cmd::Command;
use brimwater::config::Config;
use brimwater::inventory::{Assembly, Inventory, read_mapped};
use brimwater::outreach::phone;
use std::fs;

/// id, type, size, service, placement, latitude, longitude, address, name, first number, last test.
const LIST: [[&str; 11]; 6] = [
    [
        "A-101",
        "RP",
        "3/4",
        "irrigation",
        "open",
        "40.71",
        "-74.05",
        "12 Elm St",
        "Ada Quill",
        "+12015550112",
        "2024-03-25",
    ],
    [
        "A-102",
        "DC",
        "1",
        "domestic",
        "vault",
        "40.72",
        "-74.06",
        "14 Elm St",
        "Bo Reed",
        "+12015550113",
        "2024-04-02",
    ],
    [
        "A-103",
        "RPDA",
        "4",
        "fire",
        "heated_enclosure",
        "40.73",
        "-74.07",
        "3 Mill Rd",
        "Núria Peña",
        "+12015550114",
        "2024-05-30",
    ],
    [
        "A-104",
        "PVB",
        "1-1/2",
        "irrigation",
        "insulated_enclosure",
        "40.74",
        "-74.08",
        "5 Mill Rd",
        "Cy Stone",
        "+12015550115",
        "2024-06-01",
    ],
    [
        "A-105",
        "DC",
        "2",
        "domestic",
        "indoors",
        "40.75",
        "-74.09",
        "9 Lake Av",
        "Di Marsh",
        "+12015550117",
        "2023-11-28",
    ],
    [
        "A-106",
        "RP",
        "2",
        "process",
        "cover",
        "40.76",
        "-74.10",
        "1 Dock Rd",
        "Ed Vane",
        "+12015550118",
        "2023-12-13",
    ],
];

fn utf16(text: &str, little: bool, mark: bool) -> Vec<u8> {
    let mark = if mark { "\u{feff}" } else { "" };
    format!("{mark}{text}")
        .encode_utf16()
        .flat_map(|unit| if little { unit.to_le_bytes() } else { unit.to_be_bytes() })
        .collect()
}

fn latin(text: &str) -> Vec<u8> {
    text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect()
}

fn exports() -> Vec<(&'static str, Vec<u8>)> {
    let plain = "Assembly #,Type,Size,Use,Location,Lat,Long,Service Address,Owner,Phone,Last Test\n\
        A-101,RPZ,3/4,Irrigation,outside,40.71,-74.05,12 Elm St,Ada Quill,(201) 555-0112,3/25/2024\n\
        A-102,DCVA,1,Domestic,vault,40.72,-74.06,14 Elm St,Bo Reed,201.555.0113,4/2/2024\n\
        A-103,RPDA,4,Fire,heated box,40.73,-74.07,3 Mill Rd,Núria Peña,201-555-0114,5/30/2024\n\
        A-104,PVB,1 1/2,Irrigation,hot box,40.74,-74.08,5 Mill Rd,Cy Stone,2015550115,6/1/2024\n\
        A-105,DC,2,Domestic,indoors,40.75,-74.09,9 Lake Av,Di Marsh,1-201-555-0117,11/28/2023\n\
        A-106,RP,2,Process,cover,40.76,-74.10,1 Dock Rd,Ed Vane,201 555 0118,12/13/2023\n";
    let titled = "Backflow programme - annual inventory,,,,,,,,,,\n\
        Run by the records office on 03/01/2026,,,,,,,,,,\n,,,,,,,,,,\n\n\
        Device ID,Device Type,Size (in),Service,Enclosure Type,GPS Lat,GPS Long,Site Address,Customer Name,Telephone,Date Tested\n,,,,,,,,,,\n\
        A-101,RP,0.75,irr,exposed,40.71,-74.05,12 Elm St,Ada Quill,2015550112,25-Mar-2024\n\
        A-102,DC,1.00,dom,pit,40.72,-74.06,14 Elm St,Bo Reed,2015550113,2-Apr-2024\n\
        A-103,RPDA,4.00,fire line,heated enclosure,40.73,-74.07,3 Mill Rd,Núria Peña,2015550114,30-May-2024\n\
        A-104,PVB,1.50,lawn,enclosure,40.74,-74.08,5 Mill Rd,Cy Stone,2015550115,1-Jun-2024\n\
        A-105,DC,2.00,dom,basement,40.75,-74.09,9 Lake Av,Di Marsh,2015550117,28-Nov-2023\n\
        A-106,RP,2.00,process,fake rock,40.76,-74.10,1 Dock Rd,Ed Vane,2015550118,13-Dec-2023\n";
    let words = "BFP No.,Type of Assembly,Nominal Size,Application,Where Installed,Latitude,Longitude,Premise Address,Contact,Contact Phone,Most Recent Test\n\
        A-101,Reduced Pressure Principle Assembly,\"3/4\"\"\",Lawn & garden,Outside - exposed,40.71,-74.05,12 Elm St,Ada Quill,201-555-0112,2024-03-25\n\
        A-102,Double Check Valve Assembly,\"1\"\"\",Domestic water,in vault,40.72,-74.06,14 Elm St,Bo Reed,201-555-0113,2024-04-02\n\
        A-103,Reduced Pressure Detector,\"4\"\"\",Fire main,Heater in box,40.73,-74.07,3 Mill Rd,Núria Peña,201-555-0114,2024-05-30\n\
        A-104,Pressure Vacuum Breaker,\"1-1/2\"\"\",Turf,in box,40.74,-74.08,5 Mill Rd,Cy Stone,201-555-0115,2024-06-01\n\
        A-105,Double Check,\"2\"\"\",House,Mech room,40.75,-74.09,9 Lake Av,Di Marsh,201-555-0117,2023-11-28\n\
        A-106,Reduced Pressure Zone,\"2\"\"\",Chiller,Rock shell,40.76,-74.10,1 Dock Rd,Ed Vane,201-555-0118,2023-12-13\n";
    let spanish = "Número de conjunto;Tipo;Diámetro;Servicio;Ubicación;Latitud;Longitud;Dirección;Nombre;Teléfono;Última prueba\n\
        A-101;RPZ;20;Riego;Intemperie;40,71;-74,05;12 Elm St;Ada Quill;201-555-0112;25/03/2024\n\
        A-102;DCVA;25;Doméstico;Bóveda;40,72;-74,06;14 Elm St;Bo Reed;201-555-0113;02/04/2024\n\
        A-103;RPDA;100;Incendio;Caja calefactada;40,73;-74,07;3 Mill Rd;Núria Peña;201-555-0114;30/05/2024\n\
        A-104;PVB;40;Riego;Caja;40,74;-74,08;5 Mill Rd;Cy Stone;201-555-0115;01/06/2024\n\
        A-105;DC;50;Doméstico;Interior;40,75;-74,09;9 Lake Av;Di Marsh;201-555-0117;28/11/2023\n\
        A-106;RPBA;50;Process;Cover;40,76;-74,10;1 Dock Rd;Ed Vane;201-555-0118;13/12/2023\n";
    let phones = "Tester Name,Tester Phone,\"Backflow\nID\",BF Type,Meter Size,BF Size,Line Type,Enclosure,Lat.,Lon.,Mailing Address,Service Address,Customer,Phone No.,Last Tested,Next Due\n\
        Tess Ter,201-555-0190,A-101,RP,5/8,3/4,Irrigation,open,40.71,-74.05,PO Box 7,12 Elm St,Ada Quill,201-555-0112 cell,2024-03-25,2025-03-25\n\
        Tess Ter,201-555-0190,A-102,DC,5/8,1,Domestic,vault,40.72,-74.06,PO Box 8,14 Elm St,Bo Reed,C: 201-555-0113 / H: 201-555-0193,2024-04-02,2025-04-02\n\
        Tess Ter,201-555-0190,A-103,RPDA,5/8,4,Fire,heated,40.73,-74.07,PO Box 9,3 Mill Rd,Núria Peña,201-555-0114 (wife),2024-05-30,2025-05-30\n\
        Tess Ter,201-555-0190,A-104,PVB,5/8,1-1/2,Irrigation,insulated,40.74,-74.08,PO Box 7,5 Mill Rd,Cy Stone,\"Office: 201-555-0115, home 201-555-0195\",2024-06-01,2025-06-01\n\
        Tess Ter,201-555-0190,A-105,DC,5/8,2,Domestic,indoors,40.75,-74.09,PO Box 7,9 Lake Av,Di Marsh,201-555-0117 cell 201-555-0197 home,2023-11-28,2024-11-28\n\
        Tess Ter,201-555-0190,A-106,RP,5/8,2,Process,cover,40.76,-74.10,PO Box 7,1 Dock Rd,Ed Vane,w 201-555-0118,2023-12-13,2024-12-13\n";
    let padded = "BF ID  |BF TYPE   |DIA    |USAGE       |SETTING     |LAT     |LON     |STREET ADDRESS   |OCCUPANT    |TEL           |TESTED ON   \n\
        A-101  |RP        |  3/4  |IRRIGATION  |OUTDOOR     |40.71   |-74.05  |12 Elm St        |Ada Quill   |(201)555-0112 |20240325    \n\
        A-102  |DC        |  1    |DOMESTIC    |BELOW GRADE |40.72   |-74.06  |14 Elm St        |Bo Reed     |(201)555-0113 |20240402    \n\
        \u{a0}     |          |       |            |            |        |        |                 |            |              |            \n\
        A-103  |RPDA      |  4    |FIRE        |HEATED      |40.73   |-74.07  |3 Mill Rd        |Núria Peña  |(201)555-0114 |20240530    \n\
        A-104  |PVB       |  1 1/2|IRRIGATION  |HOTBOX      |40.74   |-74.08  |5 Mill Rd        |Cy Stone    |(201)555-0115 |20240601    \n\
        A-105  |DC        |  2    |DOMESTIC    |INSIDE      |40.75   |-74.09  |9 Lake Av        |Di Marsh    |(201)555-0117 |20231128    \n\
        A-106  |RP        |  2    |PROCESS     |COVERED     |40.76   |-74.10  |1 Dock Rd        |Ed Vane     |(201)555-0118 |20231213    \n";
    let dotted = "Asset,Kind,Dia (mm),Purpose,Housing,Y,X,Location Address,Occupant Name,Mobile,Test Date\n\
        A-101,RPBA,DN20,irrigation,open,40.71,-74.05,12 Elm St,Ada Quill,+1 201 555 0112,25.03.2024 08:30\n\
        A-102,DCA,DN25,domestic,vault,40.72,-74.06,14 Elm St,Bo Reed,+1 201 555 0113,02.04.2024 08:30\n\
        A-103,RPDA,DN100,fire,heated,40.73,-74.07,3 Mill Rd,Núria Peña,+1 201 555 0114,30.05.2024 08:30\n\
        A-104,PVB,DN40,irrigation,insulated,40.74,-74.08,5 Mill Rd,Cy Stone,+1 201 555 0115,01.06.2024 08:30\n\
        A-105,DC,DN50,domestic,indoors,40.75,-74.09,9 Lake Av,Di Marsh,+1 201 555 0117,28.11.2023 08:30\n\
        A-106,RP,DN50,process,cover,40.76,-74.10,1 Dock Rd,Ed Vane,+1 201 555 0118,13.12.2023 08:30\n";
    let database = "BF_NUM,BF_TYP,BF_DIA,SVC_TYPE,LOC_TYPE,GPS_Y,GPS_X,PREMISE_ADDR,CUST_NAME,TEL_NO,LAST_TEST_DT,,,\n\
        A-101,RPZ,4-Mar,IRRIG,EXT,40.71,-74.05,12 Elm St,Ada Quill,2015550112,45376,,,\n\
        A-102,DCVA,1,DOM,VAULT,40.72,-74.06,14 Elm St,Bo Reed,2015550113,45384,,,\n\
        A-103,RPDA,4,FIRE,HTD ENCL,40.73,-74.07,3 Mill Rd,Núria Peña,2015550114,45442,,,\n\
        BF_NUM,BF_TYP,BF_DIA,SVC_TYPE,LOC_TYPE,GPS_Y,GPS_X,PREMISE_ADDR,CUST_NAME,TEL_NO,LAST_TEST_DT,,,\n\
        A-104,PVB,1.5,IRRIG,ENCL,40.74,-74.08,5 Mill Rd,Cy Stone,2015550115,45444,,,\n\
        A-105,DC,2,DOM,INT,40.75,-74.09,9 Lake Av,Di Marsh,2015550117,45258,,,\n\
        A-106,RP,2,PROCESS,COVER,40.76,-74.10,1 Dock Rd,Ed Vane,2015550118,45273,,,\n";
    vec![
        ("plain commas", plain.into()),
        ("titles and blank rows above the header", titled.into()),
        ("UTF-16 with tabs", utf16(&plain.replace(',', "\t"), true, true)),
        (
            "UTF-16, big-endian, no mark",
            utf16(&titled.replace(',', "\t"), false, false),
        ),
        (
            "Windows-1252 with semicolons",
            latin(&plain.replace(',', ";").replace('\n', "\r\n")),
        ),
        ("values in words", words.into()),
        ("Spanish, bare millimetres, day first, decimal comma", latin(spanish)),
        ("testers beside customers, several numbers in a cell", phones.into()),
        ("padded cells between bars", padded.into()),
        ("nominal diameters, dotted dates with a time", dotted.into()),
        ("a database's names, day numbers, header repeated", database.into()),
    ]
}

fn row(one: &Assembly) -> [String; 11] {
    let text = |text: &Option<brimwater::text::Text>| text.as_deref().unwrap_or_default().to_owned();
    let phones = phone::parse_all(&text(&one.contact.phone), "");
    [
        one.assembly_id.to_string(),
        one.device_type.to_string(),
        one.nominal_size.to_string(),
        one.service.to_string(),
        one.placement.to_string(),
        format!("{:.2}", one.latitude_deg.unwrap_or_default()),
        format!("{:.2}", one.longitude_deg.unwrap_or_default()),
        text(&one.contact.site_address),
        text(&one.contact.contact_name),
        phones
            .iter()
            .find_map(|phone| phone.as_ref().ok())
            .map(|phone| phone.e164.to_string())
            .unwrap_or_default(),
        one.last_test.map(|date| date.to_string()).unwrap_or_default(),
    ]
}

fn propose(bytes: &[u8]) -> (Option<i32>, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let (list, config) = (folder.path().join("list.csv"), folder.path().join("proposed.toml"));
    fs::write(&list, bytes).unwrap();
    let out = Command::cargo_bin("brimwater")
        .unwrap()
        .args(["check", "--propose"])
        .arg(&config)
        .arg("--assemblies")
        .arg(&list)
        .output()
        .unwrap();
    let text = String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap();
    (out.status.code(), text, fs::read_to_string(&config).unwrap_or_default())
}

fn by_config(bytes: &[u8], toml: &str) -> Inventory {
    let config = Config::from_toml(toml, "proposed.toml").unwrap_or_else(|faults| panic!("{faults:?}\n{toml}"));
    read_mapped(bytes, "list.csv", &config.columns, &config.values)
}

/// Catches a mapping that takes the tester's number for the customer's or the meter's size for the assembly's, a header sought on the
/// first line only, sizes and dates read in the wrong system, and a config that is written and does not work.
#[test]
fn exports_of_every_make_are_read_to_the_same_list_by_the_proposed_config_alone() {
    for (make, bytes) in exports() {
        let (status, page, toml) = propose(&bytes);
        assert_eq!(status, Some(0), "{make}\n{page}\n{toml}");
        let read = by_config(&bytes, &toml);
        let rows: Vec<[String; 11]> = read.assemblies.iter().map(row).collect();
        assert_eq!(rows.len(), LIST.len(), "{make}\n{toml}\n{:?}", read.faults);
        for (read, listed) in rows.iter().zip(LIST) {
            assert_eq!(read.each_ref().map(String::as_str), listed, "{make}\n{page}\n{toml}");
        }
        assert_eq!(
            read.faults.count(brimwater::faults::Severity::Warning),
            0,
            "{make}: {:?}",
            read.faults
        );
    }
}

/// Catches a proposal that guesses where somebody may be hurt by a wrong guess: a refusal, a negation, two readings.
#[test]
fn what_could_mean_two_things_is_asked_and_not_guessed() {
    let list = "Assembly ID,Type,Size,Location Type,Contact Preference\n\
        A,RP,1,not in vault,please no voice messages\nB,DC,1,outside building mech room,call\nC,VB,1,vault,call\n";
    let (status, page, toml) = propose(list.as_bytes());
    assert_eq!(status, Some(1), "{page}");
    for asked in [
        "# \"not in vault\" = \"\"",
        "# \"outside building mech room\"",
        "# \"please no voice messages\"",
        "# \"VB\"",
    ] {
        assert!(toml.contains(asked), "{asked}\n{toml}");
    }
    // Filled in by hand, the same config works.
    let filled = toml
        .replace("# \"not in vault\" = \"\"", "\"not in vault\" = \"open\"")
        .replace("# \"VB\" = \"\"", "\"VB\" = \"PVB\"");
    let read = by_config(list.as_bytes(), &filled);
    assert_eq!(read.assemblies.len(), 3, "{:?}", read.faults);
    assert_eq!(read.assemblies[0].placement.to_string(), "open");
    assert_eq!(read.assemblies[2].device_type.to_string(), "PVB");
}

#[test]
fn a_proposal_overwrites_nothing_and_one_wrong_key_voids_no_mapping() {
    let folder = tempfile::tempdir().unwrap();
    let (list, config) = (folder.path().join("list.csv"), folder.path().join("own.toml"));
    fs::write(&list, "Nr,What,How big\nA,RP,1\n").unwrap();
    let own = "[columns]\nassembly_id = \"Nr\"\ndevice_type = \"What\"\nnominal_size_in = \"How big\"\nplacment = \"Where\"\n";
    fs::write(&config, own).unwrap();
    let check = |more: &[&str]| {
        let mut command = Command::cargo_bin("brimwater").unwrap();
        command.arg("check").arg("--assemblies").arg(&list).args(more);
        let out = command.output().unwrap();
        (
            out.status.code().unwrap(),
            String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap(),
        )
    };
    let path = config.display().to_string();
    let (status, told) = check(&["--config", &path, "--details", "9"]);
    assert_eq!(status, 2);
    assert!(
        told.contains("BW-C05") && told.contains("winter_use") && told.contains("placement"),
        "{told}"
    );
    let (_, csv) = check(&["--config", &path, "--format", "csv"]);
    assert_eq!(
        csv.matches("BW-C05").count(),
        1,
        "one slip of the config is told once: {csv}"
    );
    assert!(
        !told.contains("BW-A01"),
        "the list is blamed for the config's slip: {told}"
    );
    let (status, told) = check(&["--propose", &path]);
    assert_eq!(
        (status, fs::read_to_string(&config).unwrap().as_str()),
        (2, own),
        "{told}"
    );
}

/// `plan` tells these; so must the command that is run first.
#[test]
fn check_tells_the_numbers_and_addresses_that_plan_cannot_use() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("list.csv");
    fs::write(&list, "assembly_id,device_type,nominal_size_in,phone,email\nA,RP,1,201-555-01,x@y\nB,RP,1,do not call 201-555-0112,\n").unwrap();
    let out = Command::cargo_bin("brimwater")
        .unwrap()
        .args(["check", "--format", "csv", "--assemblies"])
        .arg(&list)
        .output()
        .unwrap();
    let told = String::from_utf8(out.stdout).unwrap();
    assert_eq!(told.matches("BW-A61").count(), 2, "{told}");
    assert!(told.contains("BW-A62") && told.contains("asks not to call"), "{told}");
    fs::write(folder.path().join("week.csv"), frost()).unwrap();
    let mails = "assembly_id,device_type,nominal_size_in,email\nA,RP,1,ann@example.org\nB,RP,1,bob at example.org\nC,RP,1,cy@example..org\nD,RP,1,d@@example.org\n";
    fs::write(&list, mails).unwrap();
    let told = |command: &[&str]| {
        let mut run = Command::cargo_bin("brimwater").unwrap();
        let run = run
            .current_dir(folder.path())
            .args(command)
            .args(["--assemblies", "list.csv"]);
        let out = run.output().unwrap();
        let text = String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap();
        // Wrapped or not, one line each.
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let faults = text.split("warning: BW-A62 ").skip(1);
        faults
            .map(|fault| fault.split("Correct the address").next().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    let (checked, planned) = (
        told(&["check"]),
        told(&[
            "plan",
            "--series",
            "week.csv",
            "--members",
            "2",
            "--advice-cases",
            "0",
            "--out",
            "out",
        ]),
    );
    // X-Val: RFC 5321, section 4.1.2: one @ between a local part and a domain of labels that are not empty.
    assert_eq!((checked.len(), &checked), (3, &planned));
}

/// An office's export as a planner found it: a serial number beside the number of the device, names cut short, a heater that is there and one
/// that is not, and a column of refusals under a header of the office's own.
///
/// X-Val: what each cell means to the trade, written by hand; common practice, no source.
#[test]
fn names_cut_short_are_written_out_and_a_refusal_is_asked_under_any_header() {
    let mut list = String::from("Dev No.;Serial #;Asmbly Type;Dia.;Where installed;Cust Name;OK to contact?;Crit\n");
    let kinds = [
        "Pressure Vac Breaker",
        "Spill resist.",
        "vacuum breaker",
        "Dbl Chk",
        "RPZ",
        "Red. Pressure Zone",
    ];
    let places = [
        "Hot box w/ heat",
        "Hot box no heat",
        "Hot box w/o heat",
        "Heater off, box",
        "EXT",
        "box w/ heat tape",
    ];
    for at in 0..12 {
        let (kind, place) = (kinds[at % 6], places[at % 6]);
        let (may, serial) = (["Y", "N"][at % 2], 500 + at / 2);
        list.push_str(&format!("BF-{at:03};S{serial};{kind};1;{place};Ona Vell;{may};\n"));
    }
    let (_, page, toml) = propose(list.as_bytes());
    for taken in [
        "assembly_id = \"Dev No.\"",
        "channels = \"OK to contact?\"",
        "\"Pressure Vac Breaker\" = \"PVB\"",
        "\"Spill resist.\" = \"SVB\"",
        "\"Hot box w/ heat\" = \"heated_enclosure\"",
        "# \"vacuum breaker\" = \"\"",
        "# \"Hot box no heat\" = \"\"",
        "# \"Hot box w/o heat\" = \"\"",
        "# \"Heater off, box\" = \"\"",
        "# \"box w/ heat tape\" = \"\"",
        "# \"N\" = \"\"",
        "# \"Y\" = \"\"",
    ] {
        assert!(toml.contains(taken), "{taken}\n{toml}\n{page}");
    }
    // Before the words are filled in nobody is called against a refusal: somebody decides.
    let read = by_config(list.as_bytes(), &toml);
    let allowed = read
        .assemblies
        .iter()
        .filter(|one| one.contact.channels.as_ref().is_some_and(|ways| !ways.is_empty()));
    assert_eq!(allowed.count(), 0, "{:?}", read.faults);
}

/// What one office's export once lost or took for something else: its mail, its detectors, words with a point, notes and serials under
/// names of their own.
#[test]
fn mail_detectors_words_with_a_point_notes_and_serials_are_known_under_an_offices_own_names() {
    let mut list = String::from(
        "Dev ID;Type of Assembly;Size mm;Use;Where installed;E-mail addr;Mailing addr;Loc. note;Mfr Serial No;May we contact\n",
    );
    let kinds = [
        "DC Detector",
        "Reduced Pressure Det.",
        "PVB detector",
        "Double Check Det Assy",
    ];
    for at in 0..8 {
        let kind = kinds[at % 4];
        list.push_str(&format!(
            "D-{at};{kind};50;Irrig.;Boiler Rm.;p{at}@example.com;PO Box {at}0;behind the shed {at};SER{};Yes\n",
            900 + at / 2
        ));
    }
    let (_, page, toml) = propose(list.as_bytes());
    for taken in [
        "email = \"E-mail addr\"",
        "channels = \"May we contact\"",
        "# contact_name = \"\"",
        "# site_address = \"\"",
        "\"DC Detector\" = \"DCDA\"",
        "\"Reduced Pressure Det.\" = \"RPDA\"",
        "# \"PVB detector\" = \"\"",
        "\"Boiler Rm.\" = \"indoors\"",
        "[values.channels]  # takes a list of call;text;email;letter, or none",
    ] {
        assert!(toml.contains(taken), "{taken}\n{toml}\n{page}");
    }
    let read = by_config(list.as_bytes(), &toml);
    let first = &read.assemblies[0];
    assert_eq!(first.contact.email.as_deref(), Some("p0@example.com"));
    assert_eq!(first.service.to_string(), "irrigation");
    assert!(
        read.faults.0.iter().any(|fault| fault.code == "BW-A30"),
        "{:?}",
        read.faults
    );
    assert!(
        first
            .extra
            .iter()
            .any(|(header, _)| brimwater::inventory::columns::is_site_note(header))
    );
    for (header, is) in [
        ("location_note", true),
        ("Device location desc.", true),
        ("Location", false),
        ("Notes", false),
    ] {
        assert_eq!(brimwater::inventory::columns::is_site_note(header), is, "{header}");
    }
}

/// Two days of hourly air, freezing in the night.
fn frost() -> String {
    let mut text = String::from("time,air_temp_c\n");
    for hour in 0..48 {
        let air_c = if (18..32).contains(&hour) { -6 } else { 5 };
        text.push_str(&format!(
            "2031-01-{:02}T{:02}:00:00Z,{air_c}\n",
            6 + hour / 24,
            hour % 24
        ));
    }
    text
}
