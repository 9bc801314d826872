//go:build validate

//dossier:chapter Boiling

package validation

import "testing"

// TestDryingWallOnFinerRings: rings of a tenth of the rod's radius say of a drying wall
// what rings of a fortieth say: over thirty days the program on its rings of a/10 is held to
// the explicit program on a/40, and on a/40 to it on the same.
//
// The wall's ring of a/10 dries as one, while a/40 dries the inner part of it first, where
// the heat is (r/a)² greater, 1 + 0.1 on average: the current falls earlier by up to half of
// the ring's time to dry, of 7.6 d less 6 d in which it boils, and its steps are up to a
// tenth of it. Over the whole these cancel: the charge is held to 1 %, the halving to 5 %.
// Source: own explicit radial integration, in validation/explicit_test.go.
func TestDryingWallOnFinerRings(t *testing.T) {
	coarse, fine := wallCell{parts: 10, growth: 1.15, days: 30}, wallCell{parts: 40, growth: 1.05, days: 30}
	a, b, want := coarse.run(t), fine.run(t), fine.explicit(t, 0.4)
	b.hold(t, "drying wall, rings of a/40", want, 30)
	hold(t, check{"drying wall, rings of a/10: charge against rings of a/40", sourceWall, a.charge(), want.charge(), "A*s", 0.01 * want.charge()})
	hold(t, check{"drying wall, rings of a/10: mean of the rings against rings of a/40", sourceWall, a.mean, want.mean, "K", 0.5})
	hold(t, check{"drying wall, rings of a/10: halving of the current against rings of a/40", sourceWall, a.halves() / day, want.halves() / day, "d", 0.05 * want.halves() / day})
}
