"""What an argument is made of: deductions, techniques, repertoires, routes and slices."""
