"""The workspace as a page in a browser on this machine: thin views over what every other command uses."""
