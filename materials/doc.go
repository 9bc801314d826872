// Package materials holds the constitutive laws of wet ground: water and steam
// on the saturation line, and each soil's electrical conductivity, thermal
// conductivity and heat capacity. Everything is SI, temperatures in kelvin; every
// law is a pure function of its arguments.
//
//	law                                  range                    source
//	saturation p(T), T(p)                273.15 to 647.096 K      IAPWS R7-97(2012), region 4
//	liquid v, h, cp (p, T)               273.15 to 623.15 K       IAPWS R7-97(2012), region 1
//	steam v, h (p, T)                    273.15 to 1073.15 K      IAPWS R7-97(2012), region 2
//	viscosity μ(ρ, T)                    liquid and vapour        IAPWS R12-08, eqs. 10 to 12
//	air pressure p(elevation)            −2 to 11 km              ISO 2533
//	σ(T): 1 + a(T − T_ref)               15 to 100 °C in use      Hayashi 2004, to 30 °C
//	σ(T): μ(T_ref)/μ(T)                  0 to 180 °C              Walden's rule, from memory
//	σ(S): (1−g)sⁿ + g sⁿ⁻¹, s = S/S₀     S_dry to 1               Waxman & Smits 1968, from memory
//	λ(S) of soil: Kersten number         0 to 1                   Côté & Konrad 2005; Johansen 1975
//	λ(S) of rock: geometric mean         0 to 1                   Woodside & Messmer 1961, from memory
//	λ dry of soil: from dry density      natural soils, ±20 %     Johansen 1975
//	heat capacity: solids + water        -                        de Vries 1963, from memory
//
// "from memory" means that the work was not at hand when the line was written.
// The tables of [Water] cover 0 to 180 °C and run on as straight lines outside.
// Liquid water counts with the constant density [RhoWater] in every balance of
// mass: the 4 % that expand away by 100 °C are neglected.
package materials
