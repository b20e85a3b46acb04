"""What can be proved of a puzzle: counts, backbone, certificates, what is essential."""
