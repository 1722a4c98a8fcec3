"""The chosen design run in the time domain. Knows the sizing's account and the ride; decides no size."""
