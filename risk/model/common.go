package model

// Common are the parameters that rules of every kind have.
type Common struct {
	From      Start   `yaml:"start"`
	Threshold []Stage `yaml:"stages"`
}

// Start returns the rule's start.
func (c *Common) Start() Start { return c.From }

// Stages returns the rule's thresholds in the order of the data file.
func (c *Common) Stages() []Stage { return c.Threshold }

func (c *Common) checkCommon(k *checker) {
	k.start(&c.From)
	k.stages(c.Threshold)
}
