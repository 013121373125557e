"""What on this rig would cure a finding: other gear tried on the same job, checked like the job itself."""
