package main

import (
	"fmt"
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/solver"
)

// progress tells how far a run has come: a bar on a terminal, elsewhere a line
// every few percent.
type progress struct {
	w         io.Writer
	bar       *progressbar.ProgressBar
	quiet     bool
	duration  float64 // [s]
	started   time.Time
	from      float64 // share of the duration that earlier runs have done
	said      float64 // share of the duration at the last line
	recordErr error   // the first error of the folder
}

const everyShare = 0.05

func newProgress(w io.Writer, c *cases.Case, quiet bool) *progress {
	p := &progress{w: w, quiet: quiet, duration: c.Time.Duration, started: time.Now()}
	if file, ok := w.(*os.File); ok && !quiet && term.IsTerminal(int(file.Fd())) {
		p.bar = progressbar.NewOptions64(1000,
			progressbar.OptionSetWriter(w), progressbar.OptionSetPredictTime(true), progressbar.OptionSetWidth(24),
			progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish(), progressbar.OptionSetElapsedTime(false))
	}
	return p
}

// begin says that a run goes on from a time [s].
func (p *progress) begin(at float64) {
	p.from = at / p.duration
	p.said = p.from
}

func (p *progress) show(r *solver.Report) {
	if p.quiet {
		return
	}
	share := r.State.Time / p.duration
	line := fmt.Sprintf("day %.1f of %.4g", r.State.Time/86400, p.duration/86400)
	if len(r.Targets) > 0 {
		c := r.Targets[0].Mean - materials.Celsius
		line += fmt.Sprintf(", target mean %.1f °C (%.0f °F)", c, c*1.8+32)
	}
	if p.bar != nil {
		p.bar.Describe(line)
		_ = p.bar.Set64(int64(1000 * share)) // a terminal that went away stops no run
		return
	}
	if share < p.said+everyShare && share < 1 || r.Stats.Steps == 0 {
		return
	}
	p.said = share
	left := time.Duration(float64(time.Since(p.started)) * (1 - share) / (share - p.from)).Round(time.Second)
	fmt.Fprintf(p.w, "%3.0f %%  %s, %s left\n", 100*share, line, left)
}

func (p *progress) done() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
