//! What every reader must hold, whatever the bytes: the fuzz targets share it.

use brimwater::faults::Faults;
use brimwater::weather::diurnal::Shape;
use brimwater::weather::readers::Found;
use brimwater::weather::{ReadOptions, Series};

/// Options of a run. Local times are met both with a zone that has a fold and a gap and without any; the length of the data decides,
/// so that no byte of a seed is spent on it.
pub fn options(data: &[u8]) -> ReadOptions {
    ReadOptions {
        allow_gaps: true,
        zone: (data.len() % 2 == 1).then_some("America/Chicago".parse().ok()).flatten(),
        ..ReadOptions::default()
    }
}

/// Holds what a reader returned to its promises.
///
/// # Panics
/// When a series is ragged or holds a number that is not finite, when a daily record cannot be made into hours without that, or when a
/// reader that returned nothing has nothing to say about it.
pub fn sound(found: &[Found], faults: &Faults) {
    assert!(!found.is_empty() || !faults.0.is_empty(), "nothing was read and nothing was told");
    for one in found {
        if let Some(series) = &one.series {
            sound_series(series);
        }
        if let Some(daily) = &one.daily {
            assert!(daily.days.windows(2).all(|pair| pair[0].date < pair[1].date));
            for value in daily.days.iter().flat_map(|day| [day.min_c, day.max_c]).flatten() {
                assert!(value.is_finite());
            }
            if let (Some(series), _, _) = daily.to_hourly(Shape::PartonLogan, "fuzz", true) {
                sound_series(&series);
            }
        }
    }
}

fn sound_series(series: &Series) {
    let hours = series.hours();
    assert!(hours > 0);
    assert_eq!(series.wind_m_s.len(), hours);
    assert_eq!(series.dew_point_c.len(), hours);
    assert_eq!(series.sky_cover.len(), hours);
    assert_eq!(series.kind.len(), hours);
    assert_eq!(series.interpolated.len(), hours);
    assert!(series.air_c.iter().all(|air| air.is_finite()));
    let told = series.wind_m_s.iter().chain(&series.dew_point_c).chain(&series.sky_cover);
    assert!(told.flatten().all(|value| value.is_finite()));
    for place in [series.station.latitude_deg, series.station.longitude_deg, series.station.elevation_m] {
        assert!(place.is_none_or(f64::is_finite));
    }
}
