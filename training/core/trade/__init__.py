"""What the trade knows, as arithmetic: gloves, meters, isolation, lifting, and whether kit is fit for a job."""
