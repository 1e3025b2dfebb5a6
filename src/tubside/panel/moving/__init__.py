"""Moving pictures of a panel: what it shows over time, as drawings, clips and stills."""
