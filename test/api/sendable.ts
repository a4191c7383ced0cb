import fc from 'fast-check'

const key = fc
  .oneof(fc.string(), fc.constantFrom('$octets', '$number', '$$', '$'))
  .filter(k => k !== '__proto__')

/** Every kind of value that can be sent: JSON, octets, and the numbers that JSON loses. */
export const sendable = fc.letrec(tie => ({
  value: fc.oneof(
    { depthSize: 'small' },
    fc.constant(null),
    fc.boolean(),
    fc.string(),
    fc.double(),
    fc.integer(),
    fc.uint8Array(),
    fc.array(tie('value'), { maxLength: 5 }),
    fc.dictionary(key, tie('value'), { maxKeys: 5, noNullPrototype: true }),
  ),
})).value
