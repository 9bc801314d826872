// Package keep takes the numbers out of structs and puts them back to the bit, so that
// what a run is in the middle of can be written down.
package keep

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
)

// ErrMissing is wrapped by Get's error where the store does not hold what is wanted.
var ErrMissing = errors.New("is missing")

// ErrShape is wrapped by Get's error where it holds it in another shape.
var ErrShape = errors.New("is of another shape")

// Store holds numbers and words by the path of their field: "state.Time". Fields of a
// []float64 or []complex128 are Arrays, the latter with the two parts in turn; all else is
// Values, a float in the fewest digits that read back to its bits.
type Store struct {
	Values map[string]string
	Arrays map[string][]float64
}

// Put takes what from points to. Fields of a struct named in skip are left out, here and
// in Get. An array of real numbers is not copied.
func (s *Store) Put(name string, from any, skip ...string) {
	if s.Values == nil {
		s.Values, s.Arrays = map[string]string{}, map[string][]float64{}
	}
	s.put(name, reflect.ValueOf(from).Elem(), skip)
}

// Get sets what to points to. An array is copied into one of the same length, and left
// where there is none to take it. What the store holds and to has no place for is left.
func (s *Store) Get(name string, to any, skip ...string) error {
	return s.get(name, reflect.ValueOf(to).Elem(), skip)
}

// fields calls do for each field of a struct, exported or not.
func fields(name string, v reflect.Value, skip []string, do func(name string, f reflect.Value) error) error {
	for i := range v.NumField() {
		of := v.Type().Field(i).Name
		if slices.Contains(skip, of) {
			continue
		}
		f := v.Field(i)
		if err := do(name+"."+of, reflect.NewAt(f.Type(), f.Addr().UnsafePointer()).Elem()); err != nil {
			return err
		}
	}
	return nil
}

// element returns the path of the i-th element of a slice or an array.
func element(name string, i int) string { return name + "[" + strconv.Itoa(i) + "]" }

// put stores v and what is in it under name.
func (s *Store) put(name string, v reflect.Value, skip []string) {
	switch v.Kind() {
	case reflect.Struct:
		_ = fields(name, v, skip, func(name string, f reflect.Value) error { // there is none
			s.put(name, f, nil)
			return nil
		})
	case reflect.Pointer:
		s.Values[name+".set"] = strconv.FormatBool(!v.IsNil())
		if !v.IsNil() {
			s.put(name, v.Elem(), nil)
		}
	case reflect.Array:
		for i := range v.Len() {
			s.put(element(name, i), v.Index(i), nil)
		}
	case reflect.Slice:
		switch a := v.Interface().(type) {
		case []float64:
			if a != nil {
				s.Arrays[name] = a
			}
		case []complex128:
			if a != nil {
				parts := make([]float64, 0, 2*len(a))
				for _, z := range a {
					parts = append(parts, real(z), imag(z))
				}
				s.Arrays[name] = parts
			}
		default:
			s.Values[name+".len"] = strconv.Itoa(v.Len())
			for i := range v.Len() {
				s.put(element(name, i), v.Index(i), nil)
			}
		}
	case reflect.Float64:
		s.Values[name] = strconv.FormatFloat(v.Float(), 'g', -1, 64)
	case reflect.Complex128:
		z := v.Complex()
		s.Values[name+".re"], s.Values[name+".im"] = strconv.FormatFloat(real(z), 'g', -1, 64), strconv.FormatFloat(imag(z), 'g', -1, 64)
	case reflect.Int:
		s.Values[name] = strconv.FormatInt(v.Int(), 10)
	case reflect.Bool:
		s.Values[name] = strconv.FormatBool(v.Bool())
	case reflect.String:
		s.Values[name] = v.String()
	default:
		panic(fmt.Sprintf("keep: %s is a %s", name, v.Type()))
	}
}

// read sets v from the value of a name.
func read[T any](s *Store, name string, parse func(string) (T, error)) (v T, err error) {
	text, ok := s.Values[name]
	if !ok {
		return v, fmt.Errorf("%s %w", name, ErrMissing)
	}
	if v, err = parse(text); err != nil {
		return v, fmt.Errorf("%s = %q %w", name, text, ErrShape)
	}
	return v, nil
}

func float(text string) (float64, error) { return strconv.ParseFloat(text, 64) }

// Float returns a value that is a number.
func (s *Store) Float(name string) (float64, error) { return read(s, name, float) }

// get sets v and what is in it from what is stored under name.
func (s *Store) get(name string, v reflect.Value, skip []string) error {
	switch v.Kind() {
	case reflect.Struct:
		return fields(name, v, skip, func(name string, f reflect.Value) error { return s.get(name, f, nil) })
	case reflect.Pointer:
		set, err := read(s, name+".set", strconv.ParseBool)
		if err != nil {
			return err
		}
		if !set {
			v.SetZero()
			return nil
		}
		v.Set(reflect.New(v.Type().Elem()))
		return s.get(name, v.Elem(), nil)
	case reflect.Array:
		for i := range v.Len() {
			if err := s.get(element(name, i), v.Index(i), nil); err != nil {
				return err
			}
		}
	case reflect.Slice:
		return s.getSlice(name, v)
	case reflect.Float64:
		x, err := read(s, name, float)
		v.SetFloat(x)
		return err
	case reflect.Complex128:
		re, err := read(s, name+".re", float)
		if err != nil {
			return err
		}
		im, err := read(s, name+".im", float)
		v.SetComplex(complex(re, im))
		return err
	case reflect.Int:
		n, err := read(s, name, strconv.Atoi)
		v.SetInt(int64(n))
		return err
	case reflect.Bool:
		b, err := read(s, name, strconv.ParseBool)
		v.SetBool(b)
		return err
	case reflect.String:
		text, err := read(s, name, func(t string) (string, error) { return t, nil })
		v.SetString(text)
		return err
	default:
		panic(fmt.Sprintf("keep: %s is a %s", name, v.Type()))
	}
	return nil
}

// getSlice is get of a slice: numbers from Arrays into memory that is there, others element by
// element, as many as are stored.
func (s *Store) getSlice(name string, v reflect.Value) error {
	var parts int // floats of one element
	switch v.Interface().(type) {
	case []float64:
		parts = 1
	case []complex128:
		parts = 2
	default:
		n, err := read(s, name+".len", strconv.Atoi)
		if err != nil {
			return err
		}
		if n < 0 || n > len(s.Values) { // each element has a value at least
			return fmt.Errorf("%s %w", name, ErrShape)
		}
		if n != v.Len() {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
		}
		for i := range n {
			if err := s.get(element(name, i), v.Index(i), nil); err != nil {
				return err
			}
		}
		return nil
	}
	if v.IsNil() {
		return nil
	}
	from, ok := s.Arrays[name]
	if !ok {
		return fmt.Errorf("%s %w", name, ErrMissing)
	}
	if len(from) != parts*v.Len() {
		return fmt.Errorf("%s has %d numbers, of %d: %w", name, len(from), parts*v.Len(), ErrShape)
	}
	switch to := v.Interface().(type) {
	case []float64:
		copy(to, from)
	case []complex128:
		for i := range to {
			to[i] = complex(from[2*i], from[2*i+1])
		}
	}
	return nil
}
