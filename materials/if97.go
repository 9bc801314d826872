package materials

import "math"

// gasWater is the specific gas constant of water R [J/(kg·K)].
// Source: IAPWS R7-97(2012), eq. 1.
const gasWater = 461.526

// region4 holds n₁ to n₁₀ of the saturation equation.
// Source: IAPWS R7-97(2012), Table 34.
var region4 = [10]float64{
	0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
	0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
}

// term is one summand n·xᴵ·yᴶ of a dimensionless Gibbs energy.
type term struct {
	i, j float64
	n    float64
}

// region1 holds the 34 terms of the liquid's Gibbs energy.
// Source: IAPWS R7-97(2012), Table 2.
var region1 = [34]term{
	{0, -2, 0.14632971213167}, {0, -1, -0.84548187169114}, {0, 0, -0.37563603672040e1}, {0, 1, 0.33855169168385e1},
	{0, 2, -0.95791963387872}, {0, 3, 0.15772038513228}, {0, 4, -0.16616417199501e-1}, {0, 5, 0.81214629983568e-3},
	{1, -9, 0.28319080123804e-3}, {1, -7, -0.60706301565874e-3}, {1, -1, -0.18990068218419e-1}, {1, 0, -0.32529748770505e-1},
	{1, 1, -0.21841717175414e-1}, {1, 3, -0.52838357969930e-4}, {2, -3, -0.47184321073267e-3}, {2, 0, -0.30001780793026e-3},
	{2, 1, 0.47661393906987e-4}, {2, 3, -0.44141845330846e-5}, {2, 17, -0.72694996297594e-15}, {3, -4, -0.31679644845054e-4},
	{3, 0, -0.28270797985312e-5}, {3, 6, -0.85205128120103e-9}, {4, -5, -0.22425281908000e-5}, {4, -2, -0.65171222895601e-6},
	{4, 10, -0.14341729937924e-12}, {5, -8, -0.40516996860117e-6}, {8, -11, -0.12734301741641e-8}, {8, -6, -0.17424871230634e-9},
	{21, -29, -0.68762131295531e-18}, {23, -31, 0.14478307828521e-19}, {29, -38, 0.26335781662795e-22}, {30, -39, -0.11947622640071e-22},
	{31, -40, 0.18228094581404e-23}, {32, -41, -0.93537087292458e-25},
}

// region2Ideal holds the 9 terms of the ideal-gas part of the steam's Gibbs energy.
// Source: IAPWS R7-97(2012), Table 10.
var region2Ideal = [9]term{
	{0, 0, -0.96927686500217e1}, {0, 1, 0.10086655968018e2}, {0, -5, -0.56087911283020e-2},
	{0, -4, 0.71452738081455e-1}, {0, -3, -0.40710498223928}, {0, -2, 0.14240819171444e1},
	{0, -1, -0.43839511319450e1}, {0, 2, -0.28408632460772}, {0, 3, 0.21268463753307e-1},
}

// region2Residual holds the 43 terms of the residual part of the steam's Gibbs energy.
// Source: IAPWS R7-97(2012), Table 11.
var region2Residual = [43]term{
	{1, 0, -0.17731742473213e-2}, {1, 1, -0.17834862292358e-1}, {1, 2, -0.45996013696365e-1}, {1, 3, -0.57581259083432e-1},
	{1, 6, -0.50325278727930e-1}, {2, 1, -0.33032641670203e-4}, {2, 2, -0.18948987516315e-3}, {2, 4, -0.39392777243355e-2},
	{2, 7, -0.43797295650573e-1}, {2, 36, -0.26674547914087e-4}, {3, 0, 0.20481737692309e-7}, {3, 1, 0.43870667284435e-6},
	{3, 3, -0.32277677238570e-4}, {3, 6, -0.15033924542148e-2}, {3, 35, -0.40668253562649e-1}, {4, 1, -0.78847309559367e-9},
	{4, 2, 0.12790717852285e-7}, {4, 3, 0.48225372718507e-6}, {5, 7, 0.22922076337661e-5}, {6, 3, -0.16714766451061e-10},
	{6, 16, -0.21171472321355e-2}, {6, 35, -0.23895741934104e2}, {7, 0, -0.59059564324270e-17}, {7, 11, -0.12621808899101e-5},
	{7, 25, -0.38946842435739e-1}, {8, 8, 0.11256211360459e-10}, {8, 36, -0.82311340897998e1}, {9, 13, 0.19809712802088e-7},
	{10, 4, 0.10406965210174e-18}, {10, 10, -0.10234747095929e-12}, {10, 14, -0.10018179379511e-8}, {16, 29, -0.80882908646985e-10},
	{16, 50, 0.10693031879409}, {18, 57, -0.33662250574171}, {20, 20, 0.89185845355421e-24}, {20, 35, 0.30629316876232e-12},
	{20, 48, -0.42002467698208e-5}, {21, 21, -0.59056029685639e-25}, {22, 53, 0.37826947613457e-5}, {23, 39, -0.12768608934681e-14},
	{24, 26, 0.73087610595061e-28}, {24, 40, 0.55414715350778e-16}, {24, 58, -0.94369707241210e-6},
}

// SaturationPressure is the pressure [Pa] at which water boils at T [K]:
//
//	p = (2C / (−B + √(B² − 4AC)))⁴ MPa,  θ = T + n₉/(T − n₁₀)
//
// with A, B, C quadratic in θ.
// Source: IAPWS R7-97(2012), eq. 30. Range 273.15 to 647.096 K; NaN outside.
func SaturationPressure(T float64) float64 {
	if !(T >= 273.15 && T <= 647.096) {
		return math.NaN()
	}
	return saturationPressure(T)
}

// saturationPressure is [SaturationPressure] without its range, for differences
// across 273.15 K.
func saturationPressure(T float64) float64 {
	n := &region4
	th := T + n[8]/(T-n[9])
	a := (th+n[0])*th + n[1]
	b := (n[2]*th+n[3])*th + n[4]
	c := (n[5]*th+n[6])*th + n[7]
	r := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	return r * r * r * r * 1e6
}

// SaturationTemperature is the temperature [K] at which water boils at p [Pa]:
//
//	T = ½ (n₁₀ + D − √((n₁₀ + D)² − 4(n₉ + n₁₀D))),  D = 2G / (−F − √(F² − 4EG))
//
// with E, F, G quadratic in β = (p / 1 MPa)^¼.
// Source: IAPWS R7-97(2012), eq. 31. Range 611.213 Pa (0 °C) to 22.064 MPa; NaN outside.
func SaturationTemperature(p float64) float64 {
	// 611.2126 Pa is eq. 30 at 273.15 K to seven digits, so that 0 °C goes there and back.
	if !(p >= 611.2126 && p <= 22.064e6) {
		return math.NaN()
	}
	n := &region4
	be := math.Sqrt(math.Sqrt(p * 1e-6))
	e := (be+n[2])*be + n[5]
	f := (n[0]*be+n[3])*be + n[6]
	g := (n[1]*be+n[4])*be + n[7]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	s := n[9] + d
	return 0.5 * (s - math.Sqrt(s*s-4*(n[8]+n[9]*d)))
}

// Region1 gives volume v [m³/kg], enthalpy h [J/kg] and isobaric heat capacity
// cp [J/(kg·K)] of liquid water at p [Pa] and T [K], with π = p/16.53 MPa and
// τ = 1386 K/T:
//
//	γ = Σ n (7.1 − π)ᴵ (τ − 1.222)ᴶ,  v = RT γ_π/16.53 MPa,  h = RTτ γ_τ,  cp = −Rτ² γ_ττ
//
// Source: IAPWS R7-97(2012), eq. 7 and Table 3. Range 273.15 to 623.15 K, from
// saturation to 100 MPa; outside the equation is evaluated as it stands.
func Region1(p, T float64) (v, h, cp float64) {
	const pStar, tStar = 16.53e6, 1386.0
	tau := tStar / T
	x, y := 7.1-p/pStar, tau-1.222
	var gp, gt, gtt float64
	for _, c := range region1 {
		xi, yj := math.Pow(x, c.i), math.Pow(y, c.j)
		gp -= c.n * c.i * xi / x * yj
		gt += c.n * xi * c.j * yj / y
		gtt += c.n * xi * c.j * (c.j - 1) * yj / (y * y)
	}
	return gasWater * T * gp / pStar, gasWater * tStar * gt, -gasWater * tau * tau * gtt
}

// Region2 gives volume v [m³/kg] and enthalpy h [J/kg] of steam at p [Pa] and
// T [K], with π = p/1 MPa and τ = 540 K/T:
//
//	γ = ln π + Σ n° τᴶ + Σ n πᴵ (τ − ½)ᴶ,  v = RT π γ_π/p,  h = RTτ γ_τ
//
// Source: IAPWS R7-97(2012), eqs. 15 to 17 and Table 12. Range 273.15 K up to
// saturation, and beyond (R7-97 section 6); outside the equation is evaluated as
// it stands. p must be above zero.
func Region2(p, T float64) (v, h float64) {
	const pStar, tStar = 1e6, 540.0
	pi, tau := p/pStar, tStar/T
	y := tau - 0.5
	var gt, pigp float64
	for _, c := range region2Ideal {
		gt += c.n * c.j * math.Pow(tau, c.j-1)
	}
	for _, c := range region2Residual {
		xi := math.Pow(pi, c.i)
		pigp += c.n * c.i * xi * math.Pow(y, c.j)
		gt += c.n * xi * c.j * math.Pow(y, c.j-1)
	}
	return gasWater * T / p * (1 + pigp), gasWater * tStar * gt
}

// viscosityGas holds H₀ to H₃ of the dilute gas. Source: IAPWS R12-08, Table 1.
var viscosityGas = [4]float64{1.67752, 2.20462, 0.6366564, -0.241605}

// viscosityDense holds Hᵢⱼ, rows i (temperature), columns j (density).
// Source: IAPWS R12-08, Table 2.
var viscosityDense = [6][7]float64{
	{5.20094e-1, 2.22531e-1, -2.81378e-1, 1.61913e-1, -3.25372e-2, 0, 0},
	{8.50895e-2, 9.99115e-1, -9.06851e-1, 2.57399e-1, 0, 0, 0},
	{-1.08374, 1.88797, -7.72479e-1, 0, 0, 0, 0},
	{-2.89555e-1, 1.26613, -4.89837e-1, 0, 6.98452e-2, 0, -4.35673e-3},
	{0, 0, -2.57040e-1, 0, 0, 8.72102e-3, 0},
	{0, 1.20573e-1, 0, 0, 0, 0, -5.93264e-4},
}

// Viscosity is the viscosity μ [Pa·s] of water at density rho [kg/m³] and T [K],
// with t = T/647.096 K and r = rho/322 kg/m³:
//
//	μ = 1 µPa·s · 100√t / Σ Hᵢ t⁻ⁱ · exp(r Σᵢ (1/t − 1)ⁱ Σⱼ Hᵢⱼ (r − 1)ʲ)
//
// Source: IAPWS R12-08, eqs. 10 to 12. The critical enhancement is left out, as the
// release allows for industrial use; it passes 2 % only between about 646 and 651 K
// at 245 to 405 kg/m³ (from memory). Range here 0 to 180 °C, liquid and vapour.
func Viscosity(rho, T float64) float64 {
	t, r := T/647.096, rho/322
	x, y := 1/t-1, r-1
	gas := 100 * math.Sqrt(t) / (viscosityGas[0] + (viscosityGas[1]+(viscosityGas[2]+viscosityGas[3]/t)/t)/t)
	sum := 0.0
	for i := len(viscosityDense) - 1; i >= 0; i-- {
		row := 0.0
		for j := len(viscosityDense[i]) - 1; j >= 0; j-- {
			row = row*y + viscosityDense[i][j]
		}
		sum = sum*x + row
	}
	return 1e-6 * gas * math.Exp(r*sum)
}
