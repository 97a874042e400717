"""The walk of one picture through the stages: their order, memo keys, the store, the job."""
