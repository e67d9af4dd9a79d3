/* What every proof here is written with. A local that is given no value is any value. */
#ifndef CLAIM_H
#define CLAIM_H

/* Must hold for all inputs that the assumptions leave. */
#define CLAIM(truth) __CPROVER_assert((truth), #truth)
/* What is taken for granted; docs/firmware_proofs.md says of each why it may be. */
#define GIVEN(truth) __CPROVER_assume(truth)

#endif
