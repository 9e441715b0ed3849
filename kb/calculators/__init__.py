"""What a calculator is, and how plugins bring calculators."""
