"""What the question weather is answered from: growth, water, regulators, risk days, salts."""
