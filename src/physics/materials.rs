//! Pipe and body materials.
//!
//! Handbook values at room temperature. The two places where the spread matters are said in the constants: plastics
//! soften with heat, and cast bronze varies with its alloy.

/// A material: what heat, stretch and growth need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Name as files use it.
    pub name: &'static str,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Specific heat, J/(kg·K).
    pub specific_heat_j_kgk: f64,
    /// Thermal conductivity, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Young's modulus, Pa.
    pub youngs_pa: f64,
    /// Poisson's ratio, pure number.
    pub poisson: f64,
    /// Linear thermal expansion, 1/K.
    pub expansion_per_k: f64,
    /// Long-wave emissivity of the surface as found outdoors, pure number 0 to 1.
    pub emissivity: f64,
}

/// Copper tube C12200, phosphorus-deoxidised: 17e6 psi, 9.4e-6 per °F, conductivity 339 (196 Btu/h·ft·°F) `[copper-tube-handbook]` (pure
/// copper's 390 is not that of tube); oxidised surface.
pub const COPPER: Material = Material {
    name: "copper",
    density_kg_m3: 8940.0,
    specific_heat_j_kgk: 385.0,
    conductivity_w_mk: 339.0,
    youngs_pa: 117.211e9,
    poisson: 0.34,
    expansion_per_k: 16.92e-6,
    emissivity: 0.7,
};

/// Cast bronze and brass of small bodies and fittings: C83600 and its like; conductivity 72 `[astm-b584]` `[incropera]`.
pub const BRONZE: Material = Material {
    name: "bronze",
    density_kg_m3: 8800.0,
    specific_heat_j_kgk: 380.0,
    conductivity_w_mk: 72.0,
    youngs_pa: 93.0e9,
    poisson: 0.34,
    expansion_per_k: 18.0e-6,
    emissivity: 0.7,
};

/// Red brass pipe (C23000): conductivity 159 `[incropera]` `[astm-b43]`.
pub const BRASS: Material = Material {
    name: "brass",
    density_kg_m3: 8750.0,
    specific_heat_j_kgk: 380.0,
    conductivity_w_mk: 159.0,
    youngs_pa: 117.0e9,
    poisson: 0.34,
    expansion_per_k: 18.7e-6,
    emissivity: 0.7,
};

/// Carbon steel: 29e6 psi, 6.5e-6 per °F `[ashrae-hydronic]`; conductivity 54 `[incropera]`.
pub const STEEL: Material = Material {
    name: "steel",
    density_kg_m3: 7850.0,
    specific_heat_j_kgk: 470.0,
    conductivity_w_mk: 54.0,
    youngs_pa: 199.948e9,
    poisson: 0.29,
    expansion_per_k: 11.7e-6,
    emissivity: 0.85,
};

/// Ductile iron: 24e6 psi, 6.2e-6 per °F `[awwa-c150]`; conductivity 36 `[incropera]`; coated.
pub const DUCTILE_IRON: Material = Material {
    name: "ductile_iron",
    density_kg_m3: 7100.0,
    specific_heat_j_kgk: 480.0,
    conductivity_w_mk: 36.0,
    youngs_pa: 165.474e9,
    poisson: 0.28,
    expansion_per_k: 11.2e-6,
    emissivity: 0.9,
};

/// Stainless steel 304 and 316: 28e6 psi, 9.6e-6 per °F `[engineering-handbooks]`; conductivity 15 `[incropera]`.
pub const STAINLESS: Material = Material {
    name: "stainless",
    density_kg_m3: 8000.0,
    specific_heat_j_kgk: 490.0,
    conductivity_w_mk: 15.0,
    youngs_pa: 193.053e9,
    poisson: 0.30,
    expansion_per_k: 17.28e-6,
    emissivity: 0.5,
};

/// PVC: 400 000 psi, 3.0e-5 per °F `[plastic-pipe-handbooks]`.
pub const PVC: Material = Material {
    name: "pvc",
    density_kg_m3: 1400.0,
    specific_heat_j_kgk: 1000.0,
    conductivity_w_mk: 0.16,
    youngs_pa: 2.757_9e9,
    poisson: 0.38,
    expansion_per_k: 54.0e-6,
    emissivity: 0.9,
};

/// CPVC: 400 000 psi at 73 °F (half of it at 194 °F), 3.4e-5 per °F `[plastic-pipe-handbooks]`.
pub const CPVC: Material = Material {
    name: "cpvc",
    density_kg_m3: 1550.0,
    specific_heat_j_kgk: 1000.0,
    conductivity_w_mk: 0.14,
    youngs_pa: 2.757_9e9,
    poisson: 0.35,
    expansion_per_k: 61.2e-6,
    emissivity: 0.9,
};

/// PEX: about 100 000 psi at 73 °F, much less hot, and it creeps; 9.2e-5 per °F `[plastic-pipe-handbooks]`.
pub const PEX: Material = Material {
    name: "pex",
    density_kg_m3: 940.0,
    specific_heat_j_kgk: 2300.0,
    conductivity_w_mk: 0.41,
    youngs_pa: 0.689_476e9,
    poisson: 0.45,
    expansion_per_k: 165.6e-6,
    emissivity: 0.9,
};

/// All of them.
pub const MATERIALS: &[Material] = &[COPPER, BRONZE, BRASS, STEEL, DUCTILE_IRON, STAINLESS, PVC, CPVC, PEX];

/// The material of this name, if there is one.
pub fn material(name: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|m| m.name == name)
}
