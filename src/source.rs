//! The bibliography: every constant and correlation points at an entry here.

/// How far a source can be trusted for the number taken from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    /// The text was read, or the value reproduced from an independent computation.
    Verified,
    /// Recalled from the named publication and not read again.
    FromMemory,
    /// A fact of the trade without a citable source.
    CommonPractice,
    /// The authors' choice, open to recalibration; the config can change it.
    Judgement,
}

/// One entry of the bibliography.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Short identifier that doc comments quote in brackets, such as `[churchill-bernstein-1977]`.
    pub id: &'static str,
    /// Author, title, publication, edition or year.
    pub citation: &'static str,
    /// How far it can be trusted.
    pub grade: Grade,
}

/// All entries, in alphabetical order of their identifiers.
pub const SOURCES: &[Source] = &[
    // Keep sorted: tests look entries up by binary search.
    Source {
        id: "3gpp-23-038",
        citation: "3GPP TS 23.038, Alphabets and language-specific information: GSM 7-bit default alphabet",
        grade: Grade::FromMemory,
    },
    Source {
        id: "ahuja-1993",
        citation: "R. K. Ahuja, T. L. Magnanti and J. B. Orlin, Network Flows (1993), successive shortest paths",
        grade: Grade::FromMemory,
    },
    Source {
        id: "alexander-1977",
        citation: "R. Alexander, Diagonally implicit Runge-Kutta methods for stiff O.D.E.'s, SIAM J. Numer. Anal. 14 (1977) 1006-1021",
        grade: Grade::FromMemory,
    },
    Source {
        id: "ansi-z21-22",
        citation: "ANSI Z21.22/CSA 4.4, Relief Valves for Hot Water Supply Systems: temperature element at or below 210 °F (abstract read)",
        grade: Grade::Verified,
    },
    Source {
        id: "ashrae-hydronic",
        citation: "ASHRAE Handbook: HVAC Systems and Equipment, chapter on hydronic heating and cooling system design",
        grade: Grade::FromMemory,
    },
    Source {
        id: "ashrae-n-year",
        citation: "ASHRAE Handbook, Fundamentals 2009 and later, chapter on climatic design information: n-year return values of extreme dry-bulb temperature",
        grade: Grade::Verified,
    },
    Source {
        id: "asme-b36-10",
        citation: "ASME B36.10M, Welded and Seamless Wrought Steel Pipe, schedule 40",
        grade: Grade::FromMemory,
    },
    Source {
        id: "asos-export",
        citation: "Airport observations as university archives export them (CSV with station, valid, tmpf): column meanings as published with the export form",
        grade: Grade::FromMemory,
    },
    Source {
        id: "asse-1003",
        citation: "ASSE 1003, Performance Requirements for Water Pressure Reducing Valves, scope, 2023; bypass action from the trade",
        grade: Grade::FromMemory,
    },
    Source {
        id: "asse-1060",
        citation: "ASSE 1060-2017, Performance Requirements for Outdoor Enclosures for Fluid Conveying Components (abstract read)",
        grade: Grade::Verified,
    },
    Source {
        id: "assembly-dimensions",
        citation: "Rounded bands of size, water and metal of backflow prevention assemblies, light to heavy designs; common practice",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "astm-b43",
        citation: "ASTM B43, Standard Specification for Seamless Red Brass Pipe, Standard Sizes, regular weight",
        grade: Grade::FromMemory,
    },
    Source {
        id: "astm-b584",
        citation: "ASTM B584, Standard Specification for Copper Alloy Sand Castings for General Applications",
        grade: Grade::FromMemory,
    },
    Source {
        id: "astm-b88",
        citation: "ASTM B88, Standard Specification for Seamless Copper Water Tube, table 1; type L 1/2 to 2 in checked against a tube data sheet",
        grade: Grade::FromMemory,
    },
    Source {
        id: "astm-d1785",
        citation: "ASTM D1785, Standard Specification for PVC Plastic Pipe, Schedules 40, 80 and 120",
        grade: Grade::FromMemory,
    },
    Source {
        id: "astm-d2846",
        citation: "ASTM D2846, Standard Specification for CPVC Plastic Hot- and Cold-Water Distribution Systems, SDR 11",
        grade: Grade::FromMemory,
    },
    Source {
        id: "astm-f876",
        citation: "ASTM F876, Standard Specification for Crosslinked Polyethylene (PEX) Tubing, SDR 9",
        grade: Grade::FromMemory,
    },
    Source {
        id: "awwa-c115",
        citation: "ANSI/AWWA C115/A21.15, Flanged Ductile-Iron Pipe, special thickness class 53",
        grade: Grade::FromMemory,
    },
    Source {
        id: "awwa-c150",
        citation: "ANSI/AWWA C150/A21.50, Thickness Design of Ductile-Iron Pipe",
        grade: Grade::FromMemory,
    },
    Source {
        id: "begg-greenes-1983",
        citation: "C. B. Begg and R. A. Greenes, Assessment of diagnostic tests when disease verification is subject to selection bias, Biometrics 39 (1983) 207-215",
        grade: Grade::FromMemory,
    },
    Source {
        id: "berdahl-martin-1984",
        citation: "P. Berdahl and M. Martin, Emissivity of clear skies, Solar Energy 32(5) (1984) 663-664; pressure reference 1000 mbar from memory",
        grade: Grade::Verified,
    },
    Source {
        id: "bertsimas-farias-trichakis-2011",
        citation: "D. Bertsimas, V. F. Farias and N. Trichakis, The price of fairness, Operations Research 59 (2011) 17-31",
        grade: Grade::FromMemory,
    },
    Source {
        id: "boyle-and-heat-balance",
        citation: "Boyle's law and a heat balance on water with the properties of iapws-r7-97; derived here",
        grade: Grade::Verified,
    },
    Source {
        id: "brier-1950",
        citation: "G. W. Brier, Verification of forecasts expressed in terms of probability, Mon. Weather Rev. 78 (1950) 1-3",
        grade: Grade::FromMemory,
    },
    Source {
        id: "broecker-smith-2007",
        citation: "J. Broecker and L. A. Smith, Increasing the reliability of reliability diagrams, Weather and Forecasting 22 (2007) 651-661",
        grade: Grade::FromMemory,
    },
    Source {
        id: "brunt-1932",
        citation: "D. Brunt, Notes on radiation in the atmosphere, Q. J. R. Meteorol. Soc. 58 (1932) 389-420",
        grade: Grade::FromMemory,
    },
    Source {
        id: "brutsaert-1975",
        citation: "W. Brutsaert, On a derivable formula for long-wave radiation from clear skies, Water Resour. Res. 11 (1975) 742-744",
        grade: Grade::FromMemory,
    },
    Source {
        id: "burch-christensen-2007",
        citation: "J. Burch and C. Christensen, Towards Development of an Algorithm for Mains Water Temperature, NREL, ASES 2007",
        grade: Grade::Verified,
    },
    Source {
        id: "burley-2020",
        citation: "B. Burley, Practical hash-based Owen scrambling, J. Computer Graphics Techniques 10(4) (2020) 1-20",
        grade: Grade::FromMemory,
    },
    Source {
        id: "carslaw-jaeger",
        citation: "H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. (1959), chapter 11",
        grade: Grade::FromMemory,
    },
    Source {
        id: "cfr-47-64-1200",
        citation: "47 CFR 64.1200(c)(1), calling hours for telephone solicitation, 8 a.m. to 9 p.m. at the called party",
        grade: Grade::FromMemory,
    },
    Source {
        id: "churchill-bernstein-1977",
        citation: "S. W. Churchill and M. Bernstein, J. Heat Transfer 99 (1977) 300-306",
        grade: Grade::Verified,
    },
    Source {
        id: "churchill-chu-1975-cylinder",
        citation: "S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1049-1053 (horizontal cylinder)",
        grade: Grade::Verified,
    },
    Source {
        id: "churchill-chu-1975-plate",
        citation: "S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323-1329 (vertical plate)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "clark-allen-1978",
        citation: "G. Clark and C. Allen, The estimation of atmospheric radiation for clear and cloudy skies, Proc. 2nd National Passive Solar Conf. (1978) 675-678",
        grade: Grade::Verified,
    },
    Source {
        id: "codata-2018",
        citation: "E. Tiesinga et al., CODATA Recommended Values of the Fundamental Physical Constants: 2018, Rev. Mod. Phys. 93 (2021) 025010",
        grade: Grade::FromMemory,
    },
    Source {
        id: "coles-2001",
        citation: "S. Coles, An Introduction to Statistical Modeling of Extreme Values (2001), chapter 6: likelihood ratio of a moving location",
        grade: Grade::FromMemory,
    },
    Source {
        id: "common-practice",
        citation: "Practice of the trade without a citable source",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "copper-tube-handbook",
        citation: "Copper Development Association, Copper Tube Handbook",
        grade: Grade::FromMemory,
    },
    Source {
        id: "cormen-2009",
        citation: "T. H. Cormen, C. E. Leiserson, R. L. Rivest and C. Stein, Introduction to Algorithms, 3rd ed. (2009), section 16.5",
        grade: Grade::FromMemory,
    },
    Source {
        id: "cpsc-scald",
        citation: "US Consumer Product Safety Commission, document 5098, Avoiding Tap Water Scalds (as reproduced)",
        grade: Grade::Verified,
    },
    Source {
        id: "crc-handbook",
        citation: "CRC Handbook of Chemistry and Physics, properties of water and ice",
        grade: Grade::FromMemory,
    },
    Source {
        id: "de-wit-1978",
        citation: "C. T. de Wit and others, Simulation of assimilation, respiration and transpiration of crops, Pudoc 1978: two half cosines between sunrise and 14 h",
        grade: Grade::FromMemory,
    },
    Source {
        id: "dimitriadis-2021",
        citation: "T. Dimitriadis, T. Gneiting and A. I. Jordan, Stable reliability diagrams for probabilistic classifiers, PNAS 118(8) (2021) e2016191118",
        grade: Grade::FromMemory,
    },
    Source {
        id: "drop-size",
        citation: "Drop conventions: 20 drops a millilitre (medical), 0.25 mL and 1/5 to 1/3 mL (leak guides, USGS Water Science School)",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "dwd-mosmix",
        citation: "German weather service, MOSMIX point forecasts on its open data server: KML with the element list (E_TTT: absolute error of temperature), CC BY 4.0",
        grade: Grade::FromMemory,
    },
    Source {
        id: "engineering-handbooks",
        citation: "General engineering handbooks, tables of metal properties",
        grade: Grade::FromMemory,
    },
    Source {
        id: "epw-format",
        citation: "US Department of Energy, EnergyPlus Auxiliary Programs: EnergyPlus weather file (EPW) data dictionary",
        grade: Grade::Verified,
    },
    Source {
        id: "expansion-diagnosis",
        citation: "Signs of thermal expansion, high supply pressure and overheating at a heater's relief: utility notices on closed plumbing and plumbing trade texts, read in excerpt",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "expansion-rate-table",
        citation: "Expansion of water a Btu at 60 to 180 °F from the density and specific heat of IAPWS-IF97; checked against a 40 gal, 50 to 120 °F heat-up integral",
        grade: Grade::Verified,
    },
    Source {
        id: "falls-1974",
        citation: "L. W. Falls, The beta distribution: a statistical model for world cloud cover, J. Geophys. Res. 79 (1974) 1261-1264",
        grade: Grade::FromMemory,
    },
    Source {
        id: "fernandez-huerta-1959",
        citation: "Fernández Huerta, Medidas sencillas de lecturabilidad, Consigna 214, 1959, with the later correction of the second term",
        grade: Grade::FromMemory,
    },
    Source {
        id: "forecast-errors",
        citation: "Errors of 48 h forecasts of air temperature at 969 stations in one January and February (36,030 pairs of a public ensemble data set, computed): correlation by distance, station bias removed",
        grade: Grade::FromMemory,
    },
    Source {
        id: "forecast-errors-by-lead",
        citation: "Errors of forecasts by lead: a city's maxima at 12 to 24 h, root mean square 3.80 °F; one Alpine station in five winters at 192 to 216 h, 3.6 to 3.8 K, errors a day apart alike by 0.56 (computed from public pairs)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "freeze-drip-practice",
        citation: "Thermostatic drip devices: open near 35 F, close 2 to 5 F higher, drops to 0.5 gpm; common practice, no data sheet found",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "ghcn-daily-format",
        citation: "NOAA National Centers for Environmental Information, readme of GHCN-Daily: fixed-width records, by-station CSV, quality flags",
        grade: Grade::FromMemory,
    },
    Source {
        id: "ghcnh-format",
        citation: "NOAA National Centers for Environmental Information, documentation of GHCN-Hourly and of the Global Hourly CSV",
        grade: Grade::FromMemory,
    },
    Source {
        id: "gilpin-1977",
        citation: "R. R. Gilpin, The effects of dendritic ice formation in water pipes, Int. J. Heat Mass Transfer 20 (1977) 693-699",
        grade: Grade::FromMemory,
    },
    Source {
        id: "gilpin-1978",
        citation: "R. R. Gilpin, A study of factors affecting the ice nucleation temperature in a domestic water supply, Can. J. Chem. Eng. 56 (1978) 466-471 (abstract read)",
        grade: Grade::Verified,
    },
    Source {
        id: "gneiting-raftery-2007",
        citation: "T. Gneiting and A. E. Raftery, Strictly proper scoring rules, prediction, and estimation, J. Am. Stat. Assoc. 102 (2007) 359-378",
        grade: Grade::FromMemory,
    },
    Source {
        id: "goudriaan-van-laar-1994",
        citation: "J. Goudriaan and H. H. van Laar, Modelling Potential Crop Growth Processes, Kluwer 1994: daily course of temperature",
        grade: Grade::FromMemory,
    },
    Source {
        id: "gum",
        citation: "JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in measurement, 5.1.2",
        grade: Grade::FromMemory,
    },
    Source {
        id: "hanley-mcneil-1982",
        citation: "J. A. Hanley and B. J. McNeil, The meaning and use of the area under a receiver operating characteristic curve, Radiology 143 (1982) 29-36",
        grade: Grade::FromMemory,
    },
    Source {
        id: "hare-sorensen-1987",
        citation: "D. E. Hare and C. M. Sorensen, The density of supercooled water II, J. Chem. Phys. 87 (1987) 4840-4845",
        grade: Grade::FromMemory,
    },
    Source {
        id: "horvitz-thompson-1952",
        citation: "D. G. Horvitz and D. J. Thompson, A generalization of sampling without replacement from a finite universe, J. Am. Stat. Assoc. 47 (1952) 663-685",
        grade: Grade::FromMemory,
    },
    Source {
        id: "hosking-1985",
        citation: "J. R. M. Hosking, J. R. Wallis and E. F. Wood, Estimation of the generalized extreme-value distribution by the method of probability-weighted moments, Technometrics 27 (1985) 251-261",
        grade: Grade::Verified,
    },
    Source {
        id: "hosking-1990",
        citation: "J. R. M. Hosking, L-moments: analysis and estimation of distributions using linear combinations of order statistics, J. R. Stat. Soc. B 52 (1990) 105-124",
        grade: Grade::Verified,
    },
    Source {
        id: "iapws-r14-08",
        citation: "IAPWS R14-08(2011), Pressure along the Melting and Sublimation Curves of Ordinary Water Substance",
        grade: Grade::Verified,
    },
    Source {
        id: "iapws-r7-97",
        citation: "IAPWS R7-97(2012), Industrial Formulation 1997 for the Thermodynamic Properties of Water and Steam",
        grade: Grade::Verified,
    },
    Source {
        id: "iapws-sr6-08",
        citation: "IAPWS SR6-08(2011), Properties of Liquid Water at 0.1 MPa",
        grade: Grade::Verified,
    },
    Source {
        id: "idso-1981",
        citation: "S. B. Idso, A set of equations for full spectrum and 8- to 14-um and 10.5- to 12.5-um thermal radiation from cloudless skies, Water Resour. Res. 17 (1981) 295-304",
        grade: Grade::FromMemory,
    },
    Source {
        id: "ieee-515",
        citation: "IEEE 515, Standard for the Testing, Design, Installation, and Maintenance of Electrical Resistance Trace Heating, annex A",
        grade: Grade::FromMemory,
    },
    Source {
        id: "incropera",
        citation: "F. P. Incropera, D. P. DeWitt, T. L. Bergman and A. S. Lavine, Fundamentals of Heat and Mass Transfer, 6th ed.",
        grade: Grade::FromMemory,
    },
    Source {
        id: "ipc-504",
        citation: "International Plumbing Code 504.4 to 504.6, 2018 to 2021, as adopted locally: relief valves, their setting and discharge",
        grade: Grade::FromMemory,
    },
    Source {
        id: "ipc-607",
        citation: "International Plumbing Code 607.3 and 604.8, 2018 to 2021, as adopted locally: thermal expansion control and the 80 psi limit",
        grade: Grade::FromMemory,
    },
    Source {
        id: "isd-lite-format",
        citation: "NOAA National Centers for Environmental Information, ISD-Lite format documentation",
        grade: Grade::Verified,
    },
    Source {
        id: "itu-e164",
        citation: "ITU-T Recommendation E.164, The international public telecommunication numbering plan",
        grade: Grade::FromMemory,
    },
    Source {
        id: "judgement",
        citation: "The authors' judgement; change it in the config when local records say otherwise",
        grade: Grade::Judgement,
    },
    Source {
        id: "kell-1975",
        citation: "G. S. Kell, Density, thermal expansivity, and compressibility of liquid water from 0 to 150 C, J. Chem. Eng. Data 20 (1975) 97-105",
        grade: Grade::Verified,
    },
    Source {
        id: "kellerer-pferschy-pisinger-2004",
        citation: "H. Kellerer, U. Pferschy and D. Pisinger, Knapsack Problems (2004), chapter 11: multiple choice",
        grade: Grade::FromMemory,
    },
    Source {
        id: "kincaid-1975",
        citation: "Kincaid, Fishburne, Rogers, Chissom, Derivation of new readability formulas for Navy enlisted personnel, Research Branch Report 8-75, 1975",
        grade: Grade::FromMemory,
    },
    Source {
        id: "kish-1965",
        citation: "L. Kish, Survey Sampling, Wiley (1965): effective sample size of unequal weights",
        grade: Grade::FromMemory,
    },
    Source {
        id: "kuehn-goldstein-1976",
        citation: "T. H. Kuehn and R. J. Goldstein, Int. J. Heat Mass Transfer 19 (1976) 1127-1134",
        grade: Grade::Verified,
    },
    Source {
        id: "kusuda-achenbach-1965",
        citation: "T. Kusuda and P. R. Achenbach, Earth temperature and thermal diffusivity at selected stations in the United States, ASHRAE Trans. 71(1) (1965) 61-75",
        grade: Grade::FromMemory,
    },
    Source {
        id: "kysely-2008",
        citation: "J. Kyselý, A cautionary note on the use of nonparametric bootstrap for estimating uncertainties in extreme-value models, J. Appl. Meteorol. Climatol. 47 (2008) 3236-3251",
        grade: Grade::FromMemory,
    },
    Source {
        id: "lcd-format",
        citation: "NOAA National Centers for Environmental Information, Local Climatological Data (LCD) dataset documentation",
        grade: Grade::FromMemory,
    },
    Source {
        id: "linvill-1990",
        citation: "D. E. Linvill, Calculating chilling hours and chill units from daily maximum and minimum temperature observations, HortScience 25 (1990) 14-16",
        grade: Grade::FromMemory,
    },
    Source {
        id: "london-seban-1943",
        citation: "A. L. London and R. A. Seban, Rate of ice formation, Trans. ASME 65 (1943) 771-778",
        grade: Grade::FromMemory,
    },
    Source {
        id: "mann-1945",
        citation: "H. B. Mann, Nonparametric tests against trend, Econometrica 13 (1945) 245-259",
        grade: Grade::Verified,
    },
    Source {
        id: "mcnemar-1947",
        citation: "Q. McNemar, Note on the sampling error of the difference between correlated proportions or percentages, Psychometrika 12 (1947) 153-157",
        grade: Grade::FromMemory,
    },
    Source {
        id: "met-norway-locationforecast",
        citation: "MET Norway, Locationforecast 2.0 data model and terms of service (identifying User-Agent, CC BY 4.0)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "morgan-1975",
        citation: "V. T. Morgan, The overall convective heat transfer from smooth circular cylinders, Adv. Heat Transfer 11 (1975) 199-264",
        grade: Grade::Verified,
    },
    Source {
        id: "murphy-1973",
        citation: "A. H. Murphy, A new vector partition of the probability score, J. Appl. Meteorol. 12 (1973) 595-600",
        grade: Grade::FromMemory,
    },
    Source {
        id: "nanp",
        citation: "North American Numbering Plan: area and exchange codes of the form NXX, N from 2 to 9",
        grade: Grade::FromMemory,
    },
    Source {
        id: "nbm-text",
        citation: "US National Weather Service, National Blend of Models text products: NBS and NBP cards, elements and windows (TXN: minimum 00 to 18Z, maximum 12 to 06Z)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "nelder-mead-1965",
        citation: "J. A. Nelder and R. Mead, A simplex method for function minimization, The Computer Journal 7 (1965) 308-313",
        grade: Grade::FromMemory,
    },
    Source {
        id: "noaa-solar",
        citation: "NOAA Global Monitoring Laboratory, General Solar Position Calculations (Fourier series of declination and equation of time)",
        grade: Grade::Verified,
    },
    Source {
        id: "nws-api",
        citation: "US National Weather Service, weather.gov API, OpenAPI description 1.9.0",
        grade: Grade::Verified,
    },
    Source {
        id: "open-meteo-ensemble",
        citation: "Open-Meteo, Ensemble API: hourly variables of the control run and of members, JSON",
        grade: Grade::FromMemory,
    },
    Source {
        id: "orifice-flow",
        citation: "Flow through a sharp orifice; the fire-protection form 29.84 Cd d² √P of NFPA texts",
        grade: Grade::FromMemory,
    },
    Source {
        id: "osha-legionella",
        citation: "OSHA Technical Manual, section III chapter 7, Legionnaires' Disease: storage at 140 °F (archived 2008)",
        grade: Grade::Verified,
    },
    Source {
        id: "outreach-practice",
        citation: "Arithmetic of call teams: 12 to 18 dials an hour for each caller, 5 to 7 conversations; common practice",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "parton-logan-1981",
        citation: "W. J. Parton and J. A. Logan, A model for diurnal variation in soil and air temperature, Agric. Meteorol. 23 (1981) 205-216",
        grade: Grade::Verified,
    },
    Source {
        id: "plank-1941",
        citation: "R. Plank, Beitraege zur Berechnung und Bewertung der Gefriergeschwindigkeit von Lebensmitteln (1941)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "plastic-pipe-handbooks",
        citation: "ASTM D638 and D696 data tables for PVC and CPVC pipe compounds; trade article on PEX expansion (1.1 in per 100 ft per 10 F)",
        grade: Grade::Verified,
    },
    Source {
        id: "practice-drip-balance",
        citation: "Heat balance of a freeze-relief valve: supply 50 °F, body held at 38 °F, films 1.8 and 5 Btu/(h·ft²·°F), opening 35-38 °F, closing 38-42 °F; trade practice, no citable text",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "practice-exposed-area",
        citation: "Exposed area of assemblies by size from face-to-face length and pipe diameter; estimated from geometry",
        grade: Grade::Judgement,
    },
    Source {
        id: "reach-trials",
        citation: "Published reach of calls, texts and automated calls: a clinic trial (2020), an SMS and phone trial (J. Clin. Epidemiol. 2019), a county drill (2008), a wildfire (J. Emergency Mgmt 2014)",
        grade: Grade::Verified,
    },
    Source {
        id: "repair-cost-bands",
        citation: "Installed and repair costs of assemblies as plumbers and testers quote them, US, 2024 to 2026 dollars; common practice, no single source",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "rfc-3966",
        citation: "RFC 3966, The tel URI for Telephone Numbers",
        grade: Grade::FromMemory,
    },
    Source {
        id: "rfc-5321",
        citation: "RFC 5321, Simple Mail Transfer Protocol, section 4.5.3.1 (lengths)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "roark",
        citation: "W. C. Young and R. G. Budynas, Roark's Formulas for Stress and Strain, pressure vessels; thick-wall volume form derived from Lame",
        grade: Grade::FromMemory,
    },
    Source {
        id: "rp-discharge-notes",
        citation: "Discharge of reduced pressure assemblies: EPA 816-R-03-002 Cross-Connection Control Manual (2003), ch. 4-5, from memory, and utilities' notes read in excerpt",
        grade: Grade::FromMemory,
    },
    Source {
        id: "sanitjai-goldstein-2004",
        citation: "S. Sanitjai and R. J. Goldstein, Int. J. Heat Mass Transfer 47 (2004) 4795-4805",
        grade: Grade::Verified,
    },
    Source {
        id: "sen-1968",
        citation: "P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, J. Am. Stat. Assoc. 63 (1968) 1379-1389",
        grade: Grade::Verified,
    },
    Source {
        id: "sinha-zoltners-1979",
        citation: "P. Sinha and A. A. Zoltners, The multiple-choice knapsack problem, Operations Research 27 (1979) 503-515",
        grade: Grade::FromMemory,
    },
    Source {
        id: "smith-1973",
        citation: "L. P. Smith, forecast of the grass minimum temperature from air and dew point at 15 h (Canterbury, New Zealand, 1973), with its worked example, as printed in a public frost manual",
        grade: Grade::Verified,
    },
    Source {
        id: "stephenson-2008",
        citation: "D. B. Stephenson, C. A. S. Coelho and I. T. Jolliffe, Two extra components in the Brier score decomposition, Weather and Forecasting 23 (2008) 752-757",
        grade: Grade::FromMemory,
    },
    Source {
        id: "swinbank-1963",
        citation: "W. C. Swinbank, Long-wave radiation from clear skies, Q. J. R. Meteorol. Soc. 89 (1963) 339-348",
        grade: Grade::FromMemory,
    },
    Source {
        id: "tmy2-manual",
        citation: "W. Marion and K. Urban, User's Manual for TMY2s, NREL/SP-463-7668, 1995, tables 3-1 and 3-2; columns read off a published file",
        grade: Grade::Verified,
    },
    Source {
        id: "tmy3-manual",
        citation: "S. Wilcox and W. Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008",
        grade: Grade::FromMemory,
    },
    Source {
        id: "trade-practice",
        citation: "Common practice of cross-connection control: spellings, usual heights, riser materials and sizes in which assemblies are made",
        grade: Grade::CommonPractice,
    },
    Source {
        id: "upc-608",
        citation: "Uniform Plumbing Code 608.2 and 608.3, 2015 to 2024, as adopted locally: regulators, expansion tanks, relief setting up to 100 psi",
        grade: Grade::Verified,
    },
    Source {
        id: "us-std-atm-1976",
        citation: "U.S. Standard Atmosphere, 1976, NOAA/NASA/USAF",
        grade: Grade::FromMemory,
    },
    Source {
        id: "vasicek-2002",
        citation: "O. Vasicek, The distribution of loan portfolio value, Risk (December 2002) 160-162",
        grade: Grade::FromMemory,
    },
    Source {
        id: "water-hammer-texts",
        citation: "E. B. Wylie and V. L. Streeter, Fluid Transients in Systems, wall-restraint factors",
        grade: Grade::FromMemory,
    },
    Source {
        id: "whatwg-html",
        citation: "WHATWG, HTML Living Standard, valid e-mail address",
        grade: Grade::FromMemory,
    },
    Source {
        id: "wind-profile",
        citation: "Power and log laws of the wind near the ground, as in wind-engineering texts",
        grade: Grade::FromMemory,
    },
    Source {
        id: "wmo-8",
        citation: "WMO No. 8, Guide to Instruments and Methods of Observation, annex on humidity formulas (Magnus form)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "yen-1981",
        citation: "Y.-C. Yen, Review of Thermal Properties of Snow, Ice and Sea Ice, CRREL Report 81-10 (1981)",
        grade: Grade::FromMemory,
    },
    Source {
        id: "zukauskas-1972",
        citation: "A. Zukauskas, Heat transfer from tubes in crossflow, Adv. Heat Transfer 8 (1972) 93-160",
        grade: Grade::Verified,
    },
];

/// The entry with this identifier.
pub fn source(id: &str) -> Option<&'static Source> {
    SOURCES
        .binary_search_by(|entry| entry.id.cmp(id))
        .ok()
        .map(|at| &SOURCES[at])
}
