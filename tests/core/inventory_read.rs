//! Reading a list of assemblies: bytes to rows, whatever wrote them.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use brimwater::faults::{Faults, Severity};
use brimwater::inventory::{
    Assembly, Channel, CustomerClass, DeviceType, Inventory, Language, NominalSize, Placement, RiserMaterial, Service,
    WinterUse, read_assemblies, read_inventory,
};
use std::collections::BTreeMap;
use std::io::Read;

fn read(text: impl AsRef<[u8]>) -> Inventory {
    read_inventory(text.as_ref(), "list.csv", &BTreeMap::new())
}

fn codes(faults: &Faults) -> Vec<&'static str> {
    faults.0.iter().map(|fault| fault.code).collect()
}

fn ids(list: &[Assembly]) -> Vec<&str> {
    list.iter().map(|assembly| assembly.assembly_id.as_str()).collect()
}

const HEADER: &str = "assembly_id,device_type,nominal_size_in";

#[test]
fn a_full_row_is_read_and_nothing_is_assumed() {
    let list = read(
        "assembly_id,device_type,nominal_size_in,latitude,longitude,elevation_ft,station_id,customer_class,service,placement,wrap_r_us,\
         riser_material,riser_height_in,wind_exposure,freeze_drip,heat_trace_w,expansion_relief,winter_use,critical,last_test,account_id,\
         site_address,contact_name,phone,email,language,channels\n\
         A1,RP,1,32.5,-85.25,500,S1,commercial,domestic,cover,6,copper,24,open,yes,60,no,in_use,dialysis,2025-03-14,77,\
         \"1 Reed Ln, Unit 2\",Pat Example,555-0101,pat@example.com,es,call;text\n",
    );
    assert_eq!(codes(&list.faults), Vec::<&str>::new());
    let a = &list.assemblies[0];
    assert_eq!((a.device_type, a.nominal_size), (DeviceType::Rp, NominalSize::N1));
    assert_eq!((a.latitude_deg, a.longitude_deg), (Some(32.5), Some(-85.25)));
    // X-Val: NIST SP 811, appendix B: 1 ft = 0.3048 m, 1 in = 25.4 mm (exact); 1 h·ft²·°F/Btu(IT) = 0.1761102 K·m²/W.
    assert!((a.elevation_m.unwrap() - 152.4).abs() < 1e-9);
    assert!((a.riser_height_m - 0.6096).abs() < 1e-12);
    assert!((a.wrap_m2k_per_w - 1.056_661).abs() < 1e-6);
    assert_eq!(
        (a.customer_class, a.service),
        (CustomerClass::Commercial, Service::Domestic)
    );
    assert_eq!(
        (a.placement, a.riser_material),
        (Placement::Cover, RiserMaterial::Copper)
    );
    assert_eq!(
        (a.freeze_drip, a.heat_trace_w, a.expansion_relief),
        (true, 60.0, Some(false))
    );
    assert_eq!(
        (a.winter_use, a.critical.as_deref()),
        (WinterUse::InUse, Some("dialysis"))
    );
    assert_eq!(a.last_test, chrono::NaiveDate::from_ymd_opt(2025, 3, 14));
    assert_eq!(a.contact.site_address.as_deref(), Some("1 Reed Ln, Unit 2"));
    assert_eq!(a.contact.language, Some(Language::Spanish));
    assert_eq!(a.contact.channels, Some(vec![Channel::Call, Channel::Text]));
    assert_eq!(a.line, 2);
    assert!(a.assumed.is_empty(), "{:?}", a.assumed);
}

#[test]
fn every_blank_that_matters_gets_a_default_and_says_so() {
    let list = read(format!("{HEADER}\nA1,PVB,3/4\n"));
    let a = &list.assemblies[0];
    assert_eq!(
        (a.placement, a.winter_use, a.riser_material),
        (Placement::Open, WinterUse::Idle, RiserMaterial::Copper)
    );
    assert_eq!((a.wrap_m2k_per_w, a.heat_trace_w, a.freeze_drip), (0.0, 0.0, false));
    // common practice, no source: a PVB of this size stands 18 to 30 in above grade.
    assert!((a.riser_height_m / 0.0254 - 24.0).abs() < 1e-9);
    let assumed: Vec<_> = a
        .assumed
        .iter()
        .map(|one| (one.field, one.used.as_ref(), one.direction))
        .collect();
    assert_eq!(
        assumed,
        [
            ("elevation_ft", "the station's", "neutral"),
            ("customer_class", "unknown", "neutral"),
            ("service", "unknown", "cautious"),
            ("placement", "open", "cautious"),
            ("wrap_r_us", "none", "cautious"),
            ("riser_material", "copper", "neutral"),
            ("riser_height_in", "24", "neutral"),
            ("wind_exposure", "partial", "neutral"),
            ("freeze_drip", "no", "cautious"),
            ("heat_trace_w", "0", "cautious"),
            ("winter_use", "idle", "cautious"),
        ]
    );
}

#[test]
fn winter_use_follows_the_service() {
    let list = read(format!(
        "{HEADER},service\nA,RP,1,domestic\nB,RP,1,irrigation\nC,DC,1,fire\nD,RP,1,process\nE,RP,1,\nF,DCDA,6,\n"
    ));
    let used: Vec<_> = list.assemblies.iter().map(|a| (a.service, a.winter_use)).collect();
    assert_eq!(
        used,
        [
            (Service::Domestic, WinterUse::InUse),
            (Service::Irrigation, WinterUse::Idle),
            (Service::Fire, WinterUse::Idle),
            (Service::Process, WinterUse::InUse),
            (Service::Unknown, WinterUse::Idle),
            // A detector assembly stands on a fire line, which must never be taken for one that may be shut.
            (Service::Fire, WinterUse::Idle),
        ]
    );
}

#[test]
fn the_same_list_is_read_from_every_dialect() {
    let plain = "assembly_id,device_type,nominal_size_in,contact_name,notes\nA1,RP,3/4,José Núñez,by the gate\nA2,PVB,1,\"Ann, Bo\",\"two\nlines\"\n";
    let expected = read(plain).assemblies;
    assert_eq!(expected[0].contact.contact_name.as_deref(), Some("José Núñez"));
    assert_eq!(expected[1].extra, [("notes".into(), "two\nlines".into())]);
    let utf16 = |big: bool| -> Vec<u8> {
        let bom = if big { vec![0xFE, 0xFF] } else { vec![0xFF, 0xFE] };
        bom.into_iter()
            .chain(
                plain
                    .encode_utf16()
                    .flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }),
            )
            .collect()
    };
    let windows_1252: Vec<u8> = plain.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let dialects: Vec<(&str, Vec<u8>)> = vec![
        ("UTF-8 with BOM", [b"\xEF\xBB\xBF", plain.as_bytes()].concat()),
        (
            "CRLF",
            plain
                .replace("\"two\nlines\"", "\u{1}")
                .replace('\n', "\r\n")
                .replace('\u{1}', "\"two\nlines\"")
                .into_bytes(),
        ),
        ("lone CR", plain.replace('\n', "\r").into_bytes()),
        ("no end of last line", plain.trim_end().as_bytes().to_vec()),
        (
            "semicolons",
            plain
                .replace("\"Ann, Bo\"", "\u{1}")
                .replace(',', ";")
                .replace('\u{1}', "\"Ann, Bo\"")
                .into_bytes(),
        ),
        (
            "tabs",
            plain
                .replace("\"Ann, Bo\"", "\u{1}")
                .replace(',', "\t")
                .replace('\u{1}', "Ann, Bo")
                .into_bytes(),
        ),
        ("Windows-1252", windows_1252),
        ("UTF-16 LE", utf16(false)),
        ("UTF-16 BE", utf16(true)),
        // Told by its zeros alone.
        ("UTF-16 LE without a mark", utf16(false).split_off(2)),
        ("UTF-16 BE without a mark", utf16(true).split_off(2)),
    ];
    for (name, bytes) in dialects {
        let list = read(&bytes);
        assert_eq!(list.assemblies, expected, "{name}: {:?}", list.faults);
        assert_eq!(list.faults.exit_status(), 0, "{name}");
    }
}

#[test]
fn a_title_above_the_header_and_a_repeated_header_are_passed_over() {
    let list = read(format!("Backflow list,,\n\n{HEADER}\nA1,RP,1\n{HEADER}\nA2,RP,2\n"));
    assert_eq!(ids(&list.assemblies), ["A1", "A2"]);
    assert_eq!((list.assemblies[0].line, list.assemblies[1].line), (4, 6));
}

#[test]
fn the_utilitys_own_headers_are_mapped_and_unknown_columns_kept() {
    let own: BTreeMap<String, String> = [
        ("assembly_id", "Serial Nr."),
        ("nominal_size_in", "DIA"),
        ("device_type", "Kind"),
    ]
    .into_iter()
    .map(|(a, b)| (a.to_owned(), b.to_owned()))
    .collect();
    let (list, rejects, faults) = read_assemblies("serial nr,KIND,dia,Zone\nX,rpz,2.00,7\n".as_bytes(), "f", &own);
    assert!(rejects.is_empty(), "{faults:?}");
    assert_eq!(
        (list[0].device_type, list[0].nominal_size),
        (DeviceType::Rp, NominalSize::N2)
    );
    assert_eq!(list[0].extra, [("Zone".into(), "7".into())]);
}

#[test]
fn a_mapping_of_a_column_that_does_not_exist_is_told() {
    let own = BTreeMap::from([("asembly_id".to_owned(), "Nr".to_owned())]);
    let (_, _, faults) = read_assemblies(HEADER.as_bytes(), "f", &own);
    assert!(codes(&faults).contains(&"BW-C05"));
    assert!(faults.0[0].remedy.contains("assembly_id"), "{faults:?}");
}

#[test]
fn rows_without_id_type_or_size_are_rejected_with_all_their_faults() {
    let list = read(format!(
        "{HEADER}\n,RP,1\nB,XYZ,7\nC,RP,1\nC,RP,2\nD,SVB,6\nE,RP,1,x\nF,dual check,3/4\n"
    ));
    assert_eq!(ids(&list.assemblies), ["C"]);
    let told: Vec<_> = list
        .rejects
        .iter()
        .map(|reject| {
            (
                reject.line,
                reject.faults.iter().map(|fault| fault.code).collect::<Vec<_>>(),
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            (2, vec!["BW-A04"]),
            (3, vec!["BW-A05", "BW-A06"]),
            (5, vec!["BW-A07"]),
            (6, vec!["BW-A13"]),
            (7, vec!["BW-A12"]),
            (8, vec!["BW-A05"]),
        ]
    );
    assert_eq!(list.rejects[1].record, ["B", "XYZ", "7"]);
    assert_eq!(*list.rejects[1].header, HEADER.split(',').collect::<Vec<_>>());
    assert_eq!(list.rows, 7);
    assert_eq!(list.faults.exit_status(), 1);
    assert!(
        list.faults
            .0
            .iter()
            .all(|fault| !fault.expected.is_empty() || !fault.remedy.is_empty())
    );
}

#[test]
fn an_unreadable_cell_counts_as_blank_and_is_told_with_its_place() {
    let list = read(format!(
        "{HEADER},placement,wrap_r_us,riser_height_in\nA,RP,1,shed?,NaN,inf\nB,RP,1,open,99,-4\n"
    ));
    assert_eq!(list.assemblies.len(), 2);
    let told: Vec<_> = list
        .faults
        .0
        .iter()
        .map(|fault| {
            (
                fault.code,
                fault.line.unwrap(),
                fault.column.clone().unwrap(),
                fault.value.clone().unwrap(),
            )
        })
        .collect();
    let place = |code, line, column: &str, value: &str| (code, line, column.to_owned(), value.to_owned());
    assert_eq!(
        told,
        [
            place("BW-A08", 2, "placement", "shed?"),
            place("BW-A08", 2, "wrap_r_us", "NaN"),
            place("BW-A08", 2, "riser_height_in", "inf"),
            place("BW-A09", 3, "wrap_r_us", "99"),
            place("BW-A09", 3, "riser_height_in", "-4"),
        ]
    );
    assert_eq!(list.faults.exit_status(), 1);
}

#[test]
fn what_is_no_list_is_refused_with_a_remedy() {
    for (bytes, code) in [
        (&b""[..], "BW-I05"),
        (b"\xEF\xBB\xBF \r\n \n", "BW-I05"),
        (b"PK\x03\x04rest of a workbook", "BW-I06"),
        (b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1rest of an old workbook", "BW-I06"),
        (b"\x1F\x8B\x08rest of an archive", "BW-I06"),
        (b"%PDF-1.7", "BW-I06"),
        (b"\x00\x01\x02\x00binary", "BW-I06"),
        (b"assembly_id,device_type,nominal_size_in\n", "BW-A02"),
        (b"assembly_id,device_type\nA,RP\n", "BW-A01"),
        (b"assembly_id:device_type:nominal_size_in\nA:RP:1\n", "BW-A01"),
        (b"assembly_id,device_type,nominal_size_in\nA,RP,\n", "BW-A03"),
    ] {
        let list = read(bytes);
        let fatal: Vec<_> = list
            .faults
            .0
            .iter()
            .filter(|fault| fault.severity == Severity::Fatal)
            .collect();
        assert_eq!(fatal.len(), 1, "{code}: {:?}", list.faults);
        assert_eq!((fatal[0].code, list.faults.exit_status()), (code, 2));
        assert!(!fatal[0].remedy.is_empty() && !fatal[0].file.is_empty());
    }
}

/// A gigabyte that is never held, counting what is taken.
struct Endless {
    head: &'static [u8],
    left: usize,
    taken: std::rc::Rc<std::cell::Cell<usize>>,
}

impl Read for Endless {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        let n = if self.head.is_empty() {
            let n = out.len().min(self.left);
            out[..n].fill(b'x');
            self.left -= n;
            n
        } else {
            self.head.read(out)?
        };
        self.taken.set(self.taken.get() + n);
        Ok(n)
    }
}

#[test]
fn a_line_of_a_gigabyte_is_refused_after_a_few_megabytes() {
    for (head, code) in [
        (&b"assembly_id,device_type,nominal_size_in\nA,RP,1\nB,\""[..], "BW-I07"),
        (b"assembly_id,device_type,nominal_size_in\nA,RP,1\nB,", "BW-I07"),
        (b"", "BW-I07"),
    ] {
        let taken = std::rc::Rc::default();
        let endless = Endless {
            head,
            left: 1 << 30,
            taken: std::rc::Rc::clone(&taken),
        };
        let list = read_inventory(endless, "big.csv", &BTreeMap::new());
        assert_eq!(list.faults.0.last().unwrap().code, code, "{:?}", list.faults);
        assert_eq!(list.faults.exit_status(), 2);
        assert!(taken.get() < 3 << 20, "{} bytes were read", taken.get());
    }
}

#[test]
fn ten_thousand_errors_are_all_kept() {
    let mut text = format!("{HEADER}\nOK,RP,1\n");
    for row in 0..10_000 {
        text.push_str(&format!("R{row},RP,77\n"));
    }
    let list = read(text);
    assert_eq!(
        (list.assemblies.len(), list.rejects.len(), list.rows),
        (1, 10_000, 10_001)
    );
    assert_eq!(list.faults.0.len(), 10_000);
    assert_eq!(list.rejects[9_999].line, 10_002);
}

#[test]
fn blanks_are_counted_by_column() {
    use brimwater::inventory::columns::Column;
    let list = read(format!(
        "{HEADER},placement,phone\nA,RP,1,open,\nB,RP,1,,?\nC,RP,1,,555-0101\n"
    ));
    assert_eq!(
        (
            list.blanks[&Column::Placement],
            list.blanks[&Column::Phone],
            list.blanks[&Column::Wrap]
        ),
        (2, 2, 3)
    );
    assert!(list.absent.contains(&Column::Wrap) && !list.absent.contains(&Column::Phone));
}
