package weather

import (
	"encoding/json"
	"math"
)

// MarshalJSON writes [hours, bias, mean absolute error], or [0] where nothing was
// compared: JSON has no NaN.
func (e Error) MarshalJSON() ([]byte, error) {
	if e.N == 0 {
		return []byte("[0]"), nil
	}
	return json.Marshal([3]float64{float64(e.N), e.Bias, e.MAE})
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (e *Error) UnmarshalJSON(b []byte) error {
	var in []float64
	if err := json.Unmarshal(b, &in); err != nil {
		return err
	}
	*e = Error{Bias: math.NaN(), MAE: math.NaN()}
	if len(in) == 3 {
		*e = Error{N: int(in[0]), Bias: in[1], MAE: in[2]}
	}
	return nil
}
