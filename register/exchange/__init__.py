"""The register as a workbook that people can fill in, and back: one set of sheets for both."""
