//! One writer a format, and the charts.
