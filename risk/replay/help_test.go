package replay

import (
	"fmt"

	"go.yaml.in/yaml/v3"

	"plotwarden/risk/model"
)

func decode(kind, text string) (model.Spec, error) {
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		return nil, fmt.Errorf("test rule: %w", err)
	}
	spec, faults := model.Decode(kind, "test", doc.Content[0])
	return spec, faults.Err()
}
