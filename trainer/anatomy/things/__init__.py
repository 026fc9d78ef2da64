"""What a person carries: repairs, implants, appliances, dentures, and what is worn."""
