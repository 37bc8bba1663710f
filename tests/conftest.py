"""Makes ``jobs``, the maker of invented jobs, importable from every test."""
