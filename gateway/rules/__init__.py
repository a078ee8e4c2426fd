"""Raw texts → readings by rules; sample texts → suggested rules."""
