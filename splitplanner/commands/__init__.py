"""The commands of the command line beside the main ones, their options and what they print."""
